#include "results/json/evaluation_json.h"

#include <cmath>
#include <numbers>
#include <span>
#include <string_view>

#include "results/describe/cautions.h"
#include "results/describe/missing_reason.h"
#include "results/describe/parts_beside.h"
#include "results/describe/safety.h"
#include "results/describe/stress.h"
#include "results/json/json_part.h"
#include "results/json/own_tube_json.h"
#include "results/json/whole_circuit_json.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/solve/impedance_in_place.h"

namespace antiphase {
namespace {

constexpr std::string_view kNoHandEstimate =
    "this line has no such rest point, or is too short for the swing";
constexpr std::string_view kNoSuchFigure = "the design has no such figure";

void write_own_rest(JsonWriter& json, const Design& design, const SectionRest& f, bool known,
                    bool screen = false) {
  json.begin_object();
  Part part(json, design, known);
  part.number("plate_v", f.plate_v);
  part.number("cathode_v", f.cathode_v);
  part.number("grid_v", f.grid_v);
  part.number("plate_current_a", f.plate_current_a);
  part.number("grid_current_a", f.grid_current_a);
  part.number("grid_to_cathode_v", f.grid_to_cathode_v);
  part.number("plate_to_cathode_v", f.plate_to_cathode_v);
  part.number("plate_dissipation_w", f.plate_dissipation_w);
  part.number("gm_s", f.gm_s);
  part.number("mu", f.mu);
  part.number("rp_ohm", f.rp_ohm);
  if (screen) {
    part.number("screen_v", f.screen_v);
    part.number("screen_current_a", f.screen_current_a);
    part.number("screen_dissipation_w", f.screen_dissipation_w);
  }
  json.end_object();
}

void write_own_state(JsonWriter& json, const Design& design, const SectionState& f, bool known) {
  json.begin_object();
  Part part(json, design, known);
  part.number("output_peak_v", std::abs(f.harmonic_v[1]));
  part.number("thd_pct", f.thd_pct);
  part.number("grid_to_cathode_peak_v", f.grid_to_cathode_peak_v);
  part.number("plate_current_low_a", f.plate_current_low_a);
  part.number("plate_dissipation_w", f.plate_dissipation_w);
  part.number("cathode_current_mean_a", f.cathode_current_mean_a);
  part.number("cathode_current_peak_a", f.cathode_current_peak_a);
  part.number("plate_to_cathode_peak_v", f.plate_to_cathode_peak_v);
  json.end_object();
}

void write_rest(JsonWriter& json, const Record& r) {
  const OperatingPoint& op = r.evaluation.operating_point;
  json.key("operating_point").begin_object();
  Part part(json, r.design, op.solved == Solved::yes);
  part.number("supply_v", op.supply_v);
  part.number("cathode_v", op.cathode_v);
  if (leaks_off_ground(r.design.circuit)) part.number("leak_node_v", op.leak_node_v);
  if (has_role(r.design, Role::tail)) {
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
  const bool known = op.solved == Solved::yes;
  if (has_first_stage(r.design))
    write_own_rest(json.key("first_stage"), r.design, op.first, known,
                   r.design.first_stage.form == GainForm::pentode);
  if (has_second_section(r.design))
    write_own_rest(json.key("first_stage_second_section"), r.design, op.second, known);
  if (has_driver(r.design)) {
    json.key("driver").begin_array();
    for (const SectionRest& section : op.driver) write_own_rest(json, r.design, section, known);
    json.end_array();
  }
  write_reason(json, op.solved);
  json.end_object();
}

void write_small_signal(JsonWriter& json, const Record& r) {
  const SmallSignal& ss = r.evaluation.small_signal;
  Part part(json, r.design, r.evaluation.operating_point.solved == Solved::yes);
  part.per_output("gain", ss.gain);
  if (part.two_outputs()) part.number("balance_small_signal_pct", ss.balance_pct);
  part.per_output("output_impedance_alone_ohm", ss.output_impedance_alone_ohm);
  part.per_output("output_impedance_in_place_ohm",
                  output_impedance_in_place_ohm(ss, r.design.load_ohm, outputs(r.design.circuit)));
  if (part.two_outputs()) {
    part.per_output("output_impedance_differential_ohm", ss.output_impedance_differential_ohm);
    part.number("cathode_gain", ss.cathode_gain);
  }
  if (has_first_stage(r.design)) part.number("first_stage_gain", ss.first_stage_gain);
  if (ss.input_ohm > 0) part.number("input_ohm", ss.input_ohm);  // else grid 1 draws no signal current
}

void write_at_target(JsonWriter& json, const Record& r) {
  const SteadyState& s = r.evaluation.at_target;
  const int count = outputs(r.design.circuit);
  json.key("at_target").begin_object();
  json.member("swing_peak_v", r.design.swing_peak_v);
  Part part(json, r.design, s.solved == Solved::yes);
  part.number("input_peak_v", s.input_peak_v);
  if (has_first_stage(r.design)) part.number("sensitivity_v_rms", s.input_peak_v / std::numbers::sqrt2);
  part.per_output("output_peak_v", s.output_peak_v);
  part.per_output("thd_pct", s.thd_pct);
  if (part.two_outputs()) part.number("thd_differential_pct", s.thd_differential_pct);
  if (s.solved == Solved::yes) {
    json.key("harmonics_pct").begin_array();
    for (int output = 0; output < count; ++output) {
      json.begin_array(true);
      for (int order = 2; order <= kHarmonics; ++order) json.value(s.harmonic_pct(output, order));
      json.end_array();
    }
    json.end_array();
  } else {
    json.null_member("harmonics_pct");
  }
  if (part.two_outputs()) part.number("balance_pct", s.balance_pct);
  part.per_section("grid_to_cathode_peak_v", s.grid_to_cathode_peak_v);
  part.per_section("plate_current_low_a", s.plate_current_low_a);
  part.number("supply_v", s.supply_v);
  part.number("supply_current_a", s.supply_current_a);
  if (has_role(r.design, Role::tail)) part.number("tail_low_v", s.tail_low_v);
  const bool known = s.solved == Solved::yes;
  if (has_first_stage(r.design)) write_own_state(json.key("first_stage"), r.design, s.first, known);
  if (has_second_section(r.design))
    write_own_state(json.key("first_stage_second_section"), r.design, s.second, known);
  if (has_driver(r.design)) {
    json.key("driver").begin_array();
    for (const SectionState& section : s.driver) write_own_state(json, r.design, section, known);
    json.end_array();
  }
  write_reason(json, s.solved);
  json.end_object();
}

void write_clean_swing(JsonWriter& json, const Record& r) {
  const CleanSwing& clean = r.evaluation.clean;
  Part part(json, r.design, clean.solved == Solved::yes);
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
  json.key("stress").begin_object();
  Part at_rest(json, r.design, rest), at_target(json, r.design, driven);
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

void write_feedback(JsonWriter& json, const Record& r) {
  if (!has_feedback(r.design)) return;
  const FeedbackFigures& f = r.evaluation.feedback;
  json.key("feedback").begin_object();
  Part part(json, r.design, f.known);
  json.member("reached", f.known && f.reached);
  part.number("resistor_ohm", f.resistor_ohm);
  json.member("injection_ohm", f.injection_ohm);
  part.number("gain_needed", f.gain_needed);
  part.number("gain_had", f.gain_had);
  part.number("spare_db", f.spare_db);
  part.number("loop_gain", f.loop_gain);
  part.number("feedback_db", f.feedback_db);
  part.number("open_gain", f.open_gain);
  part.number("closed_gain", f.closed_gain);
  part.number("sensitivity_v_rms", f.sensitivity_v_rms);
  json.member("distortion_pct", f.distortion_pct);
  part.number("output_impedance_ohm", f.output_impedance_ohm);
  json.member("gain_margin_db", f.margins.gain_margin_db).member("gain_margin_hz", f.margins.gain_margin_hz);
  json.member("phase_margin_deg", f.margins.phase_margin_deg)
      .member("phase_margin_hz", f.margins.phase_margin_hz);
  json.member("largest_db", f.largest_db);
  if (f.known && r.evaluation.frequency_known) {
    json.key("loop").begin_array();
    for (std::size_t n = 0; n < f.loop.size(); ++n) {
      if (!(std::abs(f.loop[n]) > 0)) continue;  // the curve was not asked for
      json.begin_object(true)
          .member("frequency_hz", r.evaluation.frequency.curve[n].frequency_hz)
          .member("gain_db", 20 * std::log10(std::abs(f.loop[n])))
          .member("phase_deg", std::arg(f.loop[n]) * 180 / std::numbers::pi)
          .end_object();
    }
    json.end_array();
  }
  json.end_object();
}

void write_pair_rest(JsonWriter& json, const Design& design, const PairRest& rest) {
  json.key("rest").begin_object();
  Part part(json, design, rest.solved == Solved::yes);
  part.number("cathode_v", rest.cathode_v);
  part.per_output("plate_current_a", rest.plate_current_a);
  part.per_output("screen_current_a", rest.screen_current_a);
  part.per_output("plate_dissipation_w", rest.plate_w);
  part.per_output("screen_dissipation_w", rest.screen_w);
  part.number("gain", rest.gain);
  part.number("output_impedance_ohm", rest.output_impedance_ohm);
  write_reason(json, rest.solved);
  json.end_object();
}

void write_pair_state(JsonWriter& json, std::string_view name, const Design& design, const PairState& s) {
  json.key(name).begin_object();
  const bool known = s.solved == Solved::yes;
  Part part(json, design, known);
  part.per_output("drive_peak_v", s.drive_peak_v);
  part.number("power_w", s.power_w);
  part.number("thd_pct", s.thd_pct);
  if (known) {
    json.key("harmonics_pct").begin_array(true);
    for (int order = 2; order <= kHarmonics; ++order) json.value(std::abs(s.harmonic_pct(order)));
    json.end_array();
  } else {
    json.null_member("harmonics_pct");
  }
  part.per_output("grid_to_cathode_peak_v", s.grid_to_cathode_peak_v);
  part.per_output("grid_current_peak_a", s.grid_current_peak_a);
  part.per_output("grid_shift_v", s.grid_shift_v);
  part.per_output("plate_current_a", s.plate_current_mean_a);
  part.per_output("screen_current_a", s.screen_current_mean_a);
  part.per_output("plate_dissipation_w", s.powers.plate_w);
  part.per_output("screen_dissipation_w", s.powers.screen_w);
  part.number("supply_power_w", s.powers.supply_w + s.powers.screen_supply_w);
  write_reason(json, s.solved);
  json.end_object();
}

void write_output_stage_figures(JsonWriter& json, const Record& r) {
  if (!has_output_stage(r.design)) return;
  const OutputStageFigures& f = r.evaluation.output_stage;
  json.key("output_stage").begin_object().member("watts_wanted", r.design.output_stage.watts);
  write_pair_rest(json, r.design, f.pair.rest);
  write_pair_state(json, "at_watts", r.design, f.pair.at_watts);
  write_pair_state(json, "driven", r.design, f.driven);
  write_pair_state(json, "before_grids_conduct", r.design, f.pair.before_grids_conduct);
  const bool cuts_off = f.pair.class_a_end.solved == Solved::yes;
  json.member("class_a_w", cuts_off ? std::optional(f.pair.class_a_end.power_w) : std::nullopt);
  if (has_feedback(r.design)) {
    const OutputStageFigures::Closed& c = f.closed;
    json.key("with_feedback").begin_object();
    Part part(json, r.design, c.solved == Solved::yes);
    part.number("power_w", c.power_w);
    part.number("thd_pct", c.thd_pct);
    part.number("open_thd_pct", c.open_thd_pct);
    part.number("predicted_thd_pct", c.predicted_thd_pct);
    part.number("source_v_rms", c.source_v_rms);
    write_reason(json, c.solved);
    json.end_object();
  }
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
    json.member("margin_pct", known(l.margin_pct)).member("kept", l.kept && !l.outside_as_given);
    if (l.outside_as_given) json.member("outside_as_given", true);
    if (!l.known) json.member("reason", kNoSuchFigure);
    if ((!l.kept || l.outside_as_given) && !l.remedy.empty()) json.member("remedy", l.remedy);
    json.end_object();
  }
  json.end_array();
}

void write_hand(JsonWriter& json, std::string_view name, const Design& design, const HandEstimate& hand) {
  json.key(name).begin_object();
  Part part(json, design, hand.valid);
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

void write_cause(JsonWriter& json, const Burden& b) {
  json.begin_object(true).member("cause", name_of(b.cause));
  if (!b.which.empty()) json.member(b.cause == Cause::fault ? "fault" : "while_empty", b.which);
  if (b.power_w) json.member("power_w", b.power_w);
  if (b.voltage_v) json.member("voltage_v", b.voltage_v);
  if (b.energy_j) json.member("energy_j", b.energy_j).member("time_constant_s", b.time_constant_s);
  json.end_object();
}

/// What is the same of every kind of part.
void end_part(JsonWriter& json, const PartLine& p) {
  if (!p.type.empty()) json.member("part_type", p.type);
  if (!p.pins.empty()) json.member("pins", p.pins);
  if (p.rating_w_for) json.member("rating_w_for", name_of(*p.rating_w_for));
  if (p.rating_v_for) json.member("rating_v_for", name_of(*p.rating_v_for));
  if (!p.burdens.empty()) {
    json.key("causes").begin_array(true);
    for (const Burden& b : p.burdens) write_cause(json, b);
    json.end_array();
  }
  if (!p.note.empty()) json.member("note", p.note);
  json.end_object();
}

void write_parts(JsonWriter& json, std::string_view name, const std::vector<PartLine>& parts) {
  json.key(name).begin_array();
  for (const PartLine& p : parts) {
    json.begin_object(true)
        .member("designators", p.designators)
        .member("label", p.label)
        .member("count", p.count);
    if (p.unit.empty()) {
      json.member("type", p.what);
      if (p.heater_a) json.member("heater_v", p.heater_v).member("heater_a", p.heater_a);
      if (p.voltage_worst_v) json.member("voltage_worst_v", p.voltage_worst_v).member("rating_v", p.rating_v);
      end_part(json, p);
      continue;
    }
    json.member("value", p.value > 0 ? std::optional(p.value) : std::nullopt).member("unit", p.unit);
    if (p.proposed_value) json.member("proposed_value", p.proposed_value);
    if (p.unit != "F") json.member("power_rest_w", p.power_rest_w).member("power_worst_w", p.power_worst_w);
    json.member("voltage_rest_v", p.voltage_rest_v).member("voltage_worst_v", p.voltage_worst_v);
    if (p.unit != "F") json.member("rating_w", p.rating_w);
    json.member("rating_v", p.rating_v);
    end_part(json, p);
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
  write_hand(json, "at_rest_point", r.design, r.evaluation.hand_at_rest_point);
  write_hand(json, "from_supply", r.design, r.evaluation.hand_from_supply);
  json.end_object();
  write_stress(json, r);
  write_law_bands(json, r);
  write_two_tones(json, r);
  write_level_curve(json, r);
  write_overdrive(json, r);
  write_frequency(json, r);
  write_feedback(json, r);
  write_output_stage_figures(json, r);
  write_own_tubes(json, r.own_tubes);
  json.member("safety", kSafetyLine);
  write_parts(json, "parts", parts_list(r.design, r.evaluation, factors, r.plate_2_of));
  write_parts(json, "parts_beside", parts_beside(r.design, r.evaluation, factors));
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
