#include "results/json/evaluation_json.h"

#include <cmath>
#include <numbers>
#include <span>
#include <string_view>

#include "results/describe/cause.h"
#include "results/describe/cautions.h"
#include "results/describe/parts_list.h"
#include "results/describe/stress.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

constexpr std::string_view kNoHandEstimate =
    "this line has no such rest point, or is too short for the swing";
constexpr std::string_view kNoSuchFigure = "the design has no such figure";
constexpr std::string_view kNoCleanSwing = "the stage is not clean at any drive";

/// Writes members that are all null together when their solve failed.
class Part {
 public:
  Part(JsonWriter& json, int sections, bool known)
      : json_(json), sections_(static_cast<std::size_t>(sections)), known_(known) {}
  bool pair() const { return sections_ == 2; }

  void number(std::string_view name, double v) { known_ ? json_.member(name, v) : json_.null_member(name); }
  void per_section(std::string_view name, const Pair& v) {
    known_ ? json_.member(name, std::span<const double>(v.data(), sections_)) : json_.null_member(name);
  }
  void text(std::string_view name, std::string_view v) {
    known_ ? json_.member(name, v) : json_.null_member(name);
  }

 private:
  JsonWriter& json_;
  std::size_t sections_;
  bool known_;
};

void write_reason(JsonWriter& json, Solved solved) {
  if (solved != Solved::yes) json.member("reason", reason(solved));
}

/// Numbers of a curve, rounded; what follows is written in full again.
class CurveNumbers {
 public:
  explicit CurveNumbers(JsonWriter& json) : json_(json) { json_.round_to(kCurveDigits); }
  ~CurveNumbers() { json_.round_to(0); }
  CurveNumbers(const CurveNumbers&) = delete;
  CurveNumbers& operator=(const CurveNumbers&) = delete;

 private:
  JsonWriter& json_;
};

void write_rest(JsonWriter& json, const Record& r) {
  const OperatingPoint& op = r.evaluation.operating_point;
  json.key("operating_point").begin_object();
  Part part(json, sections(r.design.circuit), op.solved == Solved::yes);
  part.number("supply_v", op.supply_v);
  part.number("cathode_v", op.cathode_v);
  if (part.pair()) {
    part.number("leak_node_v", op.leak_node_v);
    part.number("tail_v", op.tail_v);
    part.number("tail_current_a", op.tail_current_a);
    part.number("tail_fraction", op.tail_fraction);
  }
  part.per_section("plate_v", op.plate_v);
  part.per_section("grid_v", op.grid_v);
  part.per_section("plate_current_a", op.plate_current_a);
  part.per_section("grid_current_a", op.grid_current_a);
  part.per_section("grid_to_cathode_v", op.grid_to_cathode_v);
  part.per_section("plate_to_cathode_v", op.plate_to_cathode_v);
  part.per_section("plate_dissipation_w", op.plate_dissipation_w);
  part.number("supply_current_a", op.supply_current_a);
  part.per_section("gm_s", op.gm_s);
  part.per_section("mu", op.mu);
  part.per_section("rp_ohm", op.rp_ohm);
  write_reason(json, op.solved);
  json.end_object();
}

void write_small_signal(JsonWriter& json, const Record& r) {
  const SmallSignal& ss = r.evaluation.small_signal;
  Part part(json, sections(r.design.circuit), r.evaluation.operating_point.solved == Solved::yes);
  part.per_section("gain", ss.gain);
  if (part.pair()) part.number("balance_small_signal_pct", ss.balance_pct);
  part.per_section("output_impedance_alone_ohm", ss.output_impedance_alone_ohm);
  if (part.pair()) {
    part.per_section("output_impedance_differential_ohm", ss.output_impedance_differential_ohm);
    part.number("cathode_gain", ss.cathode_gain);
  }
  if (ss.input_ohm > 0) part.number("input_ohm", ss.input_ohm);  // else grid 1 draws no signal current
}

void write_at_target(JsonWriter& json, const Record& r) {
  const SteadyState& s = r.evaluation.at_target;
  const int outputs = sections(r.design.circuit);
  json.key("at_target").begin_object();
  json.member("swing_peak_v", r.design.swing_peak_v);
  Part part(json, outputs, s.solved == Solved::yes);
  part.number("input_peak_v", s.input_peak_v);
  part.per_section("output_peak_v", s.output_peak_v);
  part.per_section("thd_pct", s.thd_pct);
  if (part.pair()) part.number("thd_differential_pct", s.thd_differential_pct);
  if (s.solved == Solved::yes) {
    json.key("harmonics_pct").begin_array();
    for (int output = 0; output < outputs; ++output) {
      json.begin_array(true);
      for (int order = 2; order <= kHarmonics; ++order) json.value(s.harmonic_pct(output, order));
      json.end_array();
    }
    json.end_array();
  } else {
    json.null_member("harmonics_pct");
  }
  if (part.pair()) part.number("balance_pct", s.balance_pct);
  part.per_section("grid_to_cathode_peak_v", s.grid_to_cathode_peak_v);
  part.per_section("plate_current_low_a", s.plate_current_low_a);
  part.number("supply_v", s.supply_v);
  part.number("supply_current_a", s.supply_current_a);
  if (part.pair()) part.number("tail_low_v", s.tail_low_v);
  write_reason(json, s.solved);
  json.end_object();
}

bool has_clean_swing(const CleanSwing& clean) {
  return clean.solved == Solved::yes && clean.swing_peak_v > 0;
}

void write_clean_swing(JsonWriter& json, const Record& r) {
  const CleanSwing& clean = r.evaluation.clean;
  Part part(json, 1, clean.solved == Solved::yes);
  part.number("clean_swing_peak_v", clean.swing_peak_v);
  part.text("clean_limited_by", name_of(clean.limited_by));
  has_clean_swing(clean) ? json.member("headroom_db", clean.headroom_db) : json.null_member("headroom_db");
}

/// Why a figure of the outermost object is null: the earliest part that was not solved.
void write_overall_reason(JsonWriter& json, const Evaluation& e) {
  for (const Solved solved :
       {e.operating_point.solved, e.at_target.solved, e.clean.solved, e.level_curve.solved})
    if (solved != Solved::yes) return write_reason(json, solved);
  if (!has_clean_swing(e.clean)) json.member("reason", kNoCleanSwing);
}

void write_headline(JsonWriter& json, const Record& r, std::string_view figure) {
  json.member(figure, find_figure(figure)->measure(r.design, r.evaluation));
}

void write_stress(JsonWriter& json, const Record& r) {
  const Stress stress = stress_of(r.design, r.evaluation);
  const bool rest = r.evaluation.operating_point.solved == Solved::yes;
  const bool driven = r.evaluation.at_target.solved == Solved::yes;
  const int n = sections(r.design.circuit);
  json.key("stress").begin_object();
  Part at_rest(json, n, rest), at_target(json, n, driven);
  at_rest.per_section("plate_dissipation_rest_w", stress.plate_dissipation_rest_w);
  at_target.per_section("plate_dissipation_mean_w", stress.plate_dissipation_mean_w);
  at_target.per_section("cathode_current_mean_a", stress.cathode_current_mean_a);
  at_target.per_section("cathode_current_peak_a", stress.cathode_current_peak_a);
  at_rest.per_section("plate_to_cathode_rest_v", stress.plate_to_cathode_rest_v);
  at_target.per_section("plate_to_cathode_peak_v", stress.plate_to_cathode_peak_v);
  json.member("plate_cold_start_v", stress.plate_cold_start_v);
  at_rest.number("cathode_to_heater_rest_v", stress.cathode_to_heater_rest_v);
  at_target.number("cathode_to_heater_peak_v", stress.cathode_to_heater_peak_v);
  write_reason(json, rest ? r.evaluation.at_target.solved : r.evaluation.operating_point.solved);
  json.end_object();
}

void write_limits(JsonWriter& json, const std::vector<LimitResult>& limits) {
  json.key("limits").begin_array();
  for (const LimitResult& l : limits) {
    json.begin_object(true).member("name", l.name);
    if (l.section > 0) json.member("section", l.section);
    const auto known = [&](double v) { return l.known ? std::optional(v) : std::nullopt; };
    json.member("value", known(l.value)).member("limit", l.limit).member("unit", l.unit);
    json.member("bound", l.at_least ? "at_least" : "at_most").member("design_factor", l.design_factor);
    json.member("margin_pct", known(l.margin_pct)).member("kept", l.kept);
    if (!l.known) json.member("reason", kNoSuchFigure);
    if (!l.kept && !l.remedy.empty()) json.member("remedy", l.remedy);
    json.end_object();
  }
  json.end_array();
}

void write_hand(JsonWriter& json, std::string_view name, const HandEstimate& hand) {
  json.key(name).begin_object();
  Part part(json, 1, hand.valid);
  part.number("rest_plate_to_cathode_v", hand.rest_plate_v);
  part.number("rest_current_a", hand.rest_current_a);
  part.number("rest_grid_to_cathode_v", hand.rest_grid_v);
  part.number("ac_load_ohm", hand.ac_load_ohm);
  part.number("zero_current_plate_to_cathode_v", hand.line_supply_v);
  part.number("grid_drive_peak_v", hand.grid_drive_peak_v);
  part.number("thd_pct", hand.thd_pct);
  if (!hand.valid) json.member("reason", kNoHandEstimate);
  json.end_object();
}

/// Lowest and highest of each figure over the tube's credible laws, and whether the rank hangs on the law.
void write_law_bands(JsonWriter& json, const Record& r) {
  json.key("law_bands").begin_object().member("laws", r.bands.laws);
  if (r.rank > 0) json.member("rank_in_doubt", r.rank_in_doubt);
  json.key("figures").begin_object();
  for (const FigureBand& b : r.bands.figures) {
    json.key(b.figure->name).begin_object(true).member("low", b.low).member("high", b.high);
    if (b.missing) json.member("missing_under_some", true);
    json.end_object();
  }
  json.end_object().end_object();
}

void write_two_tones(JsonWriter& json, const Record& r) {
  const IntermodulationFigures& two = r.evaluation.intermodulation;
  json.key("intermodulation").begin_object();
  Part part(json, sections(r.design.circuit), two.solved == Solved::yes);
  using Products = IntermodulationFigures::Products;
  const auto method = [&](std::string_view name, const std::array<Products, 3>& at) {
    json.key(name).begin_object();
    const auto order = [&](const std::string& figure, double Products::*value) {
      part.per_section(figure + "_pct", {at[0].*value, at[1].*value});
      if (part.pair()) part.number(figure + "_differential_pct", at[2].*value);
    };
    order("second", &Products::second_pct);
    order("third", &Products::third_pct);
    order("total", &Products::total_pct);
    write_reason(json, cause(two.solved, r.evaluation));
    json.end_object();
  };
  method("low_and_high", two.low_and_high);
  method("close_pair", two.close_pair);
  json.end_object();
}

void write_level_curve(JsonWriter& json, const Record& r) {
  const LevelCurve& curve = r.evaluation.level_curve;
  if (curve.solved != Solved::yes) {
    json.null_member("level_curve");  // the reason stands beside it, see write_overall_reason
    return;
  }
  json.key("level_curve").begin_array();
  const CurveNumbers rounded(json);
  for (int k = 0; k < curve.count; ++k) {
    const LevelPoint& p = curve.point[static_cast<std::size_t>(k)];
    json.begin_object(true).member("level_db", p.level_db).member("input_peak_v", p.input_peak_v);
    Part part(json, sections(r.design.circuit), true);
    part.per_section("output_peak_v", p.output_peak_v);
    part.per_section("thd_pct", p.thd_pct);
    if (part.pair()) part.number("thd_differential_pct", p.thd_differential_pct);
    part.per_section("second_pct", p.second_pct);
    part.per_section("third_pct", p.third_pct);
    json.end_object();
  }
  json.end_array();
}

void write_clean(JsonWriter& json, std::string_view name, const CleanSwing& clean, std::string_view why_not) {
  json.key(name).begin_object();
  Part part(json, 1, clean.solved == Solved::yes), above_nothing(json, 1, has_clean_swing(clean));
  part.number("swing_peak_v", clean.swing_peak_v);
  part.text("limited_by", name_of(clean.limited_by));
  above_nothing.number("input_peak_v", clean.input_peak_v);
  above_nothing.number("headroom_db", clean.headroom_db);
  if (clean.solved != Solved::yes)
    json.member("reason", why_not);
  else if (clean.swing_peak_v <= 0)
    json.member("reason", kNoCleanSwing);
  json.end_object();
}

void write_drives(JsonWriter& json, const Record& r) {
  const bool named = drives_named_grid(r.design);
  json.key("at").begin_array();
  for (std::size_t k = 0; k < OverdriveFigures::kDrives_db.size(); ++k) {
    const OverdriveFigures::At& at = r.evaluation.overdrive.at[k];
    json.begin_object().member("drive_db", OverdriveFigures::kDrives_db[k]);
    Part part(json, sections(r.design.circuit), at.solved == Solved::yes);
    part.per_section("output_peak_v", at.output_peak_v);
    part.per_section("thd_pct", at.thd_pct);
    part.per_section("grid_shift_v", at.grid_shift_v);
    part.number("input_peak_a", at.input_peak_a);
    if (named) {
      part.per_section("output_grid_shift_v", at.output_grid_shift_v);
      part.per_section("output_grid_peak_a", at.output_grid_peak_a);
    }
    write_reason(json, cause(at.solved, r.evaluation));
    json.end_object();
  }
  json.end_array();
}

void write_overdrive(JsonWriter& json, const Record& r) {
  const OverdriveFigures& over = r.evaluation.overdrive;
  const Solved why = cause(over.solved, r.evaluation);
  const bool named = drives_named_grid(r.design), solved = over.solved == Solved::yes;
  const bool recovers = solved && named && over.output_recovery_s[0] > 0;
  const auto why_not = [&](const CleanSwing& clean) { return reason(cause(clean.solved, r.evaluation)); };
  json.key("overdrive").begin_object();
  write_clean(json, "clean_conducting", over.clean_conducting, why_not(over.clean_conducting));
  write_clean(json, "clean_into_output_grids", over.clean_into_output_grids,
              named ? why_not(over.clean_into_output_grids) : kNoOutputValve);
  json.member("starved_db", over.starved_db);
  Part(json, sections(r.design.circuit), recovers).per_section("output_recovery_s", over.output_recovery_s);
  if (!solved || !named || !over.starved_db || !recovers) {
    std::string text(!solved ? reason(why) : !named ? kNoOutputValve : "");
    if (text.empty() && !over.starved_db)
      text = over.starved_solved == Solved::yes ? never_starved() : std::string(reason(over.starved_solved));
    if (solved && named && !recovers) text += (text.empty() ? "" : "; ") + std::string(kNoCouplingCapacitor);
    json.member("reason", text);
  }
  write_drives(json, r);
  json.end_object();
}

void write_noise(JsonWriter& json, const Record& r) {
  const NoiseFigures& noise = r.evaluation.frequency.noise;
  json.key("noise").begin_object();
  json.member("low_hz", NoiseFigures::kLow_hz).member("high_hz", NoiseFigures::kHigh_hz);
  Part part(json, sections(r.design.circuit), true);
  part.per_section("output_v_rms", noise.output_v_rms);
  part.per_section("below_target_db", noise.below_target_db);
  if (part.pair()) {
    part.number("difference_v_rms", noise.difference_v_rms);
    part.number("difference_below_target_db", noise.difference_below_target_db);
  }
  part.number("input_v_rms", noise.input_v_rms);
  json.end_object();
}

void write_response(JsonWriter& json, const Record& r) {
  const auto degrees = [](std::complex<double> v) { return std::arg(v) * 180 / std::numbers::pi; };
  json.key("curve").begin_array();
  const CurveNumbers rounded(json);
  for (const FrequencyPoint& p : r.evaluation.frequency.curve) {
    json.begin_object(true).member("frequency_hz", p.frequency_hz);
    Part part(json, sections(r.design.circuit), true);
    part.per_section("gain", {std::abs(p.gain[0]), std::abs(p.gain[1])});
    part.per_section("gain_phase_deg", {degrees(p.gain[0]), degrees(p.gain[1])});
    if (part.pair()) {
      part.number("balance_pct", p.balance_pct);
      part.number("opposite_deg", p.opposite_deg);
    }
    part.number("input_impedance_ohm", std::abs(p.input_ohm));
    part.number("input_phase_deg", degrees(p.input_ohm));
    json.end_object();
  }
  json.end_array();
}

void write_no_frequency(JsonWriter& json, const Record& r) {
  const Solved why = r.evaluation.operating_point.solved;
  if (why == Solved::yes) return;  // the evaluation did not go that far
  json.key("frequency").begin_object();
  for (const char* name : {"low_corner_hz", "high_corner_hz", "input_f", "noise", "curve"})
    json.null_member(name);
  write_reason(json, why);
  json.end_object();
}

void write_frequency(JsonWriter& json, const Record& r) {
  if (!r.evaluation.frequency_known) return write_no_frequency(json, r);
  const FrequencyFigures& f = r.evaluation.frequency;
  const int outputs = sections(r.design.circuit);
  json.key("frequency").begin_object();
  const auto each = [&](std::string_view name, const auto& values) {
    json.key(name).begin_array(true);
    for (int i = 0; i < outputs; ++i) json.value(values[i]);
    json.end_array();
  };
  each("low_corner_hz", f.low_corner_hz);
  each("high_corner_hz", f.high_corner_hz);
  json.member("input_f", f.input_f);
  if (outputs == 2) {
    json.key("balance").begin_array();
    for (const auto& at : f.balance) {
      json.begin_object(true).member("frequency_hz", at.frequency_hz);
      json.member("amplitude_pct", at.amplitude_pct).member("phase_deg", at.phase_deg).end_object();
    }
    json.end_array();
  }
  write_noise(json, r);
  write_response(json, r);
  json.end_object().key("ripple").begin_object();
  each("output_v_per_v", f.ripple_v_per_v);
  if (outputs == 2) json.member("difference_v_per_v", f.ripple_difference_v_per_v);
  json.end_object();
}

void write_parts(JsonWriter& json, const std::vector<PartLine>& parts) {
  json.key("parts").begin_array();
  for (const PartLine& p : parts) {
    json.begin_object(true).member("label", p.label).member("count", p.count);
    if (p.unit.empty()) {
      json.member("type", p.what);
      if (p.voltage_worst_v) json.member("voltage_worst_v", p.voltage_worst_v);
      if (!p.note.empty()) json.member("note", p.note);
      json.end_object();
      continue;
    }
    json.member("value", p.value).member("unit", p.unit);
    if (p.unit == "ohm") {
      json.member("power_rest_w", p.power_rest_w).member("power_worst_w", p.power_worst_w);
      json.member("voltage_rest_v", p.voltage_rest_v);
    }
    json.member("voltage_worst_v", p.voltage_worst_v);
    if (p.unit == "ohm") json.member("rating_w", p.rating_w);
    if (!p.note.empty()) json.member("note", p.note);
    json.end_object();
  }
  json.end_array();
}

}  // namespace

void write_evaluation(JsonWriter& json, const Record& r, const DesignFactors& factors) {
  json.begin_object();
  write_rest(json, r);
  write_small_signal(json, r);
  write_at_target(json, r);
  write_headline(json, r, "distortion_pct");
  write_headline(json, r, "output_impedance_ohm");
  write_clean_swing(json, r);
  write_overall_reason(json, r.evaluation);
  write_limits(json, r.limits);
  json.key("hand_estimate").begin_object();
  write_hand(json, "at_rest_point", r.evaluation.hand_at_rest_point);
  write_hand(json, "from_supply", r.evaluation.hand_from_supply);
  json.end_object();
  write_stress(json, r);
  write_law_bands(json, r);
  write_two_tones(json, r);
  write_level_curve(json, r);
  write_overdrive(json, r);
  write_frequency(json, r);
  write_parts(json, parts_list(r.design, r.evaluation, factors));
  json.key("cautions").begin_array();
  for (const std::string& sentence : cautions(r)) json.value(sentence);
  json.end_array().end_object();
}

std::string evaluation_json(const Record& record, const DesignFactors& factors) {
  JsonWriter json;
  write_evaluation(json, record, factors);
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
