#include "results/json/whole_circuit_json.h"

#include <cmath>
#include <numbers>

#include "results/describe/missing_reason.h"
#include "results/json/evaluation_json.h"
#include "results/json/json_part.h"

namespace antiphase {
namespace {

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

void write_clean(JsonWriter& json, std::string_view name, const Design& design, const CleanSwing& clean,
                 std::string_view why_not) {
  json.key(name).begin_object();
  Part part(json, design, clean.solved == Solved::yes), above_nothing(json, design, has_clean_swing(clean));
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
    Part part(json, r.design, at.solved == Solved::yes);
    part.per_output("output_peak_v", at.output_peak_v);
    part.per_output("thd_pct", at.thd_pct);
    part.per_section("grid_shift_v", at.grid_shift_v);
    part.number("input_peak_a", at.input_peak_a);
    if (named) {
      part.per_output("output_grid_shift_v", at.output_grid_shift_v);
      part.per_output("output_grid_peak_a", at.output_grid_peak_a);
    }
    write_reason(json, missing_reason(at.solved, r.evaluation));
    json.end_object();
  }
  json.end_array();
}

void write_noise(JsonWriter& json, const Record& r) {
  const NoiseFigures& noise = r.evaluation.frequency.noise;
  json.key("noise").begin_object();
  json.member("low_hz", NoiseFigures::kLow_hz).member("high_hz", NoiseFigures::kHigh_hz);
  Part part(json, r.design, true);
  part.per_output("output_v_rms", noise.output_v_rms);
  part.per_output("below_target_db", noise.below_target_db);
  if (part.two_outputs()) {
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
    Part part(json, r.design, true);
    part.per_output("gain", {std::abs(p.gain[0]), std::abs(p.gain[1])});
    part.per_output("gain_phase_deg", {degrees(p.gain[0]), degrees(p.gain[1])});
    if (part.two_outputs()) {
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

}  // namespace

/// Both ends of each figure's band over draws of the tubes' types, and whether the rank hangs on the law.
void write_law_bands(JsonWriter& json, const Record& r) {
  json.key("law_bands").begin_object().member("laws", r.bands.laws).member("draws", r.bands.draws);
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
  Part part(json, r.design, two.solved == Solved::yes);
  using Products = IntermodulationFigures::Products;
  const auto method = [&](std::string_view name, const std::array<Products, 3>& at) {
    json.key(name).begin_object();
    const auto order = [&](const std::string& figure, double Products::*value) {
      part.per_output(figure + "_pct", {at[0].*value, at[1].*value});
      if (part.two_outputs()) part.number(figure + "_differential_pct", at[2].*value);
    };
    order("second", &Products::second_pct);
    order("third", &Products::third_pct);
    order("total", &Products::total_pct);
    write_reason(json, missing_reason(two.solved, r.evaluation));
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
    Part part(json, r.design, true);
    part.per_output("output_peak_v", p.output_peak_v);
    part.per_output("thd_pct", p.thd_pct);
    if (part.two_outputs()) part.number("thd_differential_pct", p.thd_differential_pct);
    part.per_output("second_pct", p.second_pct);
    part.per_output("third_pct", p.third_pct);
    json.end_object();
  }
  json.end_array();
}

void write_overdrive(JsonWriter& json, const Record& r) {
  const OverdriveFigures& over = r.evaluation.overdrive;
  const Solved why = missing_reason(over.solved, r.evaluation);
  const bool named = drives_named_grid(r.design), solved = over.solved == Solved::yes;
  const bool recovers = solved && named && over.output_recovery_s[0] > 0;
  const auto why_not = [&](const CleanSwing& clean) {
    return reason(missing_reason(clean.solved, r.evaluation));
  };
  json.key("overdrive").begin_object();
  write_clean(json, "clean_conducting", r.design, over.clean_conducting, why_not(over.clean_conducting));
  write_clean(json, "clean_into_output_grids", r.design, over.clean_into_output_grids,
              named ? why_not(over.clean_into_output_grids) : kNoOutputValve);
  json.member("starved_db", over.starved_db);
  Part(json, r.design, recovers).per_output("output_recovery_s", over.output_recovery_s);
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

void write_frequency(JsonWriter& json, const Record& r) {
  if (!r.evaluation.frequency_known) return write_no_frequency(json, r);
  const FrequencyFigures& f = r.evaluation.frequency;
  const int count = outputs(r.design.circuit);
  json.key("frequency").begin_object();
  const auto each = [&](std::string_view name, const auto& values) {
    json.key(name).begin_array(true);
    for (int i = 0; i < count; ++i) json.value(values[i]);
    json.end_array();
  };
  each("low_corner_hz", f.low_corner_hz);
  each("high_corner_hz", f.high_corner_hz);
  json.member("input_f", f.input_f);
  if (count == 2) {
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
  if (count == 2) json.member("difference_v_per_v", f.ripple_difference_v_per_v);
  json.end_object();
}

}  // namespace antiphase
