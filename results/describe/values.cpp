#include "results/describe/values.h"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <numbers>

#include "results/describe/gain_words.h"
#include "results/describe/missing_reason.h"
#include "results/describe/part_values.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"
#include "stagemodels/solve/impedance_in_place.h"

namespace antiphase {
namespace {

/// Builds lines for a stage with one or two sections and one or two outputs.
class Lines {
 public:
  explicit Lines(const Design& d)
      : sections_(static_cast<std::size_t>(sections(d.circuit))),
        outputs_(static_cast<std::size_t>(outputs(d.circuit))) {}
  bool two_sections() const { return sections_ == 2; }
  bool two_outputs() const { return outputs_ == 2; }

  void whole(std::string label, double v, std::string_view unit) {
    lines_.push_back({std::move(label), {engineering_text(v, unit)}});
  }
  void whole_signed(std::string label, double v, std::string_view unit) {
    lines_.push_back({std::move(label), {signed_engineering_text(v, unit)}});
  }
  void whole_text(std::string label, std::string text) {
    lines_.push_back({std::move(label), {std::move(text)}});
  }
  void per_section(std::string label, const Pair& v, std::string_view unit) {
    each(std::move(label), v, unit, sections_);
  }
  void per_output(std::string label, const Pair& v, std::string_view unit) {
    each(std::move(label), v, unit, outputs_);
  }
  void texts_per_output(std::string label, std::vector<std::string> cells) {
    cells.resize(outputs_);
    lines_.push_back({std::move(label), std::move(cells)});
  }
  std::vector<ValueLine> take() { return std::move(lines_); }

 private:
  void each(std::string label, const Pair& v, std::string_view unit, std::size_t count) {
    ValueLine line{std::move(label), {}};
    for (std::size_t i = 0; i < count; ++i) line.cells.push_back(engineering_text(v[i], unit));
    lines_.push_back(std::move(line));
  }

  std::size_t sections_, outputs_;
  std::vector<ValueLine> lines_;
};

std::string plate_resistors_in_words(const Design& d, const std::optional<engine::TwoPart>& plate_2_of) {
  const auto ohm = [&](std::size_t i) {
    return i == 1 && plate_2_of ? two_in_words(*plate_2_of) : engineering_text(d.plate_ohm[i], "ohm", 4);
  };
  if (has_role(d, Role::cathode_load)) return "loads in plate and cathode " + ohm(0) + " and " + ohm(1);
  return plate_resistors(d.circuit) == 1 ? "plate resistor " + ohm(0)
                                         : "plate resistors " + ohm(0) + " and " + ohm(1);
}

/// From this share of it on, what the leaks of the load take from an output impedance is shown beside it.
constexpr double kWorthShowing = 0.02;

/// The supply stands at the head of the sentence and plate resistor 2 beside the first; leaks are told in the
/// parts list.
bool told_elsewhere(const DesignField& field) {
  const auto elsewhere = {&member::supply_v, &member::plate_ohm_1, &member::grid_leak_ohm,
                          &member::first_stage_grid_leak_ohm};
  return std::find(elsewhere.begin(), elsewhere.end(), &field) != elsewhere.end();
}

/// "cathode resistor 300 Ω + 100 Ω, the 100 Ω not bypassed": what is bought, not the sum.
std::string in_two_parts(const Design& d, const PartlyBypassed& resistor) {
  const double bare_ohm = resistor.part->value(d);
  const std::string bare = engineering_text(bare_ohm, "ohm", 4);
  const std::string name(resistor.whole->label);
  const double bypassed_ohm = resistor.whole->value(d) - bare_ohm;
  if (!(bypassed_ohm > 0)) return name + " " + bare + ", not bypassed";
  return name + " " + engineering_text(bypassed_ohm, "ohm", 4) + " + " + bare + ", the " + bare +
         " not bypassed";
}

std::string words_of(const Design& d, const std::optional<engine::TwoPart>& plate_2_of);

}  // namespace

std::string first_stage_in_words(const Design& d) {
  const FirstStage& f = d.first_stage;
  std::string tubes = f.tube->name;
  if (has_second_section(d) && f.second_tube != f.tube) tubes += " and " + f.second_tube->name;
  const GainWords& words = words_of(f.form);
  return std::string(words.before) + tubes + std::string(words.after);
}

std::string design_in_words(const Design& d) {
  return words_of(d, std::nullopt);
}
std::string design_in_words(const Record& r) {
  return words_of(r.design, r.plate_2_of);
}

std::string percent_text(double pct) {
  constexpr double kLeast = 1e-4;
  return pct < kLeast ? "< 0.0001" : significant_text(pct, 3, 4);
}

std::string_view limit_in_words(CleanLimit limit) {
  switch (limit) {
    case CleanLimit::none:
      return "nothing";
    case CleanLimit::distortion:
      return "distortion";
    case CleanLimit::grid_conduction:
      return "a grid that begins to conduct";
    case CleanLimit::cutoff:
      return "a section that cuts off";
    case CleanLimit::saturation:
      return "outputs that swing no further";
  }
  return "";
}

std::vector<ValueLine> rest_values(const Record& r) {
  const OperatingPoint& op = r.evaluation.operating_point;
  if (op.solved != Solved::yes) return {};
  Lines lines(r.design);
  if (r.design.main_supply_v > 0) lines.whole("supply behind the dropping resistor", op.supply_v, "V");
  lines.per_section("plate, to ground", op.plate_v, "V");
  lines.per_section("grid, to ground",
                    {without_rounding(op.grid_v[0], 1e-9), without_rounding(op.grid_v[1], 1e-9)}, "V");
  lines.whole(lines.two_sections() ? "cathodes, to ground" : "cathode, to ground", op.cathode_v, "V");
  if (has_role(r.design, Role::bias))
    lines.whole("lower end of the bias resistor, to ground", op.leak_node_v, "V");
  lines.per_section("plate to cathode", op.plate_to_cathode_v, "V");
  lines.per_section("grid to cathode", op.grid_to_cathode_v, "V");
  lines.per_section("plate current", op.plate_current_a, "A");
  lines.per_section("plate dissipation", op.plate_dissipation_w, "W");
  if (has_role(r.design, Role::tail)) {
    lines.whole("tail current", op.tail_current_a, "A");
    lines.whole("across the tail", op.tail_v, "V");
    lines.whole("the tail's share of the supply", 100 * op.tail_fraction, "%");
  }
  lines.whole("supply current", op.supply_current_a, "A");
  lines.per_section("transconductance", op.gm_s, "S");
  lines.per_section("plate resistance", op.rp_ohm, "ohm");
  return lines.take();
}

std::vector<ValueLine> first_stage_values(const Record& r) {
  const Evaluation& e = r.evaluation;
  if (!has_first_stage(r.design) || e.operating_point.solved != Solved::yes) return {};
  const SectionRest& at = e.operating_point.first;
  Lines lines(r.design);
  lines.whole("plate, to ground", at.plate_v, "V");
  lines.whole("cathode, to ground", at.cathode_v, "V");
  lines.whole("plate to cathode", at.plate_to_cathode_v, "V");
  lines.whole("grid to cathode", at.grid_to_cathode_v, "V");
  lines.whole("plate current", at.plate_current_a, "A");
  lines.whole("plate dissipation", at.plate_dissipation_w, "W");
  lines.whole("transconductance", at.gm_s, "S");
  lines.whole("plate resistance", at.rp_ohm, "ohm");
  if (r.design.first_stage.form == GainForm::pentode) {
    lines.whole("screen, to ground", at.screen_v, "V");
    lines.whole("screen current", at.screen_current_a, "A");
    lines.whole("screen dissipation", at.screen_dissipation_w, "W");
  }
  if (has_second_section(r.design)) {
    const SectionRest& second = e.operating_point.second;
    lines.whole("second section: plate, to ground", second.plate_v, "V");
    lines.whole("second section: cathode, to ground", second.cathode_v, "V");
    lines.whole("second section: plate to cathode", second.plate_to_cathode_v, "V");
    lines.whole("second section: grid to cathode", second.grid_to_cathode_v, "V");
    lines.whole("second section: plate current", second.plate_current_a, "A");
    lines.whole("second section: plate dissipation", second.plate_dissipation_w, "W");
    lines.whole("second section: transconductance", second.gm_s, "S");
  }
  lines.whole("gain to the splitter's grid", e.small_signal.first_stage_gain, "1");
  if (e.at_target.solved == Solved::yes) {
    const SectionState& s = e.at_target.first;
    lines.whole("at the target: plate signal, peak", std::abs(s.harmonic_v[1]), "V");
    lines.whole("at the target: distortion of the plate", s.thd_pct, "%");
    lines.whole("at the target: grid to cathode, highest", s.grid_to_cathode_peak_v, "V");
    lines.whole("at the target: plate current, least", s.plate_current_low_a, "A");
    if (has_second_section(r.design)) {
      const SectionState& second = e.at_target.second;
      lines.whole("at the target: second section, grid to cathode, highest", second.grid_to_cathode_peak_v,
                  "V");
      lines.whole("at the target: second section, plate current, least", second.plate_current_low_a, "A");
    }
  }
  return lines.take();
}

std::vector<ValueLine> driver_values(const Record& r) {
  const Evaluation& e = r.evaluation;
  if (!has_driver(r.design) || e.operating_point.solved != Solved::yes) return {};
  Lines lines(r.design);
  const auto both = [&](std::string label, const auto& of, auto member, std::string_view unit) {
    lines.per_output(std::move(label), {of[0].*member, of[1].*member}, unit);
  };
  const auto& rest = e.operating_point.driver;
  both("grid, to ground", rest, &SectionRest::grid_v, "V");
  both("cathode, to ground", rest, &SectionRest::cathode_v, "V");
  both("plate to cathode", rest, &SectionRest::plate_to_cathode_v, "V");
  both("grid to cathode", rest, &SectionRest::grid_to_cathode_v, "V");
  both("plate current", rest, &SectionRest::plate_current_a, "A");
  both("plate dissipation", rest, &SectionRest::plate_dissipation_w, "W");
  both("transconductance", rest, &SectionRest::gm_s, "S");
  if (e.at_target.solved == Solved::yes) {
    const auto& state = e.at_target.driver;
    both("at the target: grid to cathode, highest", state, &SectionState::grid_to_cathode_peak_v, "V");
    both("at the target: plate current, least", state, &SectionState::plate_current_low_a, "A");
    both("at the target: cathode current, highest", state, &SectionState::cathode_current_peak_a, "A");
  }
  return lines.take();
}

std::vector<ValueLine> feedback_values(const Record& r) {
  const FeedbackFigures& f = r.evaluation.feedback;
  if (!has_feedback(r.design) || !f.known) return {};
  Lines lines(r.design);
  if (!f.reached)
    lines.whole_text("feedback asked for", "more than any resistor brings; with " +
                                               engineering_text(f.resistor_ohm, "ohm", 4) + ":");
  lines.whole("feedback resistor, from the load", f.resistor_ohm, "ohm");
  lines.whole("to the unbypassed part of the first cathode resistor", f.injection_ohm, "ohm");
  lines.whole("gain needed, source to each output, before feedback", f.gain_needed, "1");
  lines.whole("gain had", f.gain_had, "1");
  lines.whole_signed("to spare", f.spare_db, "dB");
  lines.whole("loop gain, mid-band", f.loop_gain, "1");
  lines.whole("feedback", f.feedback_db, "dB");
  lines.whole("gain source to load, without", f.open_gain, "1");
  lines.whole("gain source to load, with", f.closed_gain, "1");
  lines.whole("sensitivity with feedback, rms", f.sensitivity_v_rms, "V");
  if (f.distortion_pct)
    lines.whole_text("distortion of the front end with feedback", percent_text(*f.distortion_pct) + " %");
  lines.whole("output impedance at the load, with", f.output_impedance_ohm, "ohm");
  const auto margin = [](const std::optional<double>& v, std::string_view unit,
                         const std::optional<double>& hz) {
    if (!v || !hz) return std::string("none is needed");
    return significant_text(*v, 3, 3) + std::string(unit) + " at " + engineering_text(*hz, "Hz");
  };
  lines.whole_text("gain margin", margin(f.margins.gain_margin_db, " dB", f.margins.gain_margin_hz));
  lines.whole_text("phase margin", margin(f.margins.phase_margin_deg, "°", f.margins.phase_margin_hz));
  lines.whole_text("most feedback with " + significant_text(r.design.feedback.least_gain_margin_db, 3, 3) +
                       " dB and " + significant_text(r.design.feedback.least_phase_margin_deg, 3, 3) +
                       "° left",
                   f.largest_db ? engineering_text(*f.largest_db, "dB") : "no end to it");
  return lines.take();
}

std::vector<ValueLine> small_signal_values(const Record& r) {
  if (r.evaluation.operating_point.solved != Solved::yes) return {};
  const SmallSignal& ss = r.evaluation.small_signal;
  Lines lines(r.design);
  lines.per_output("gain", ss.gain, "1");
  if (lines.two_outputs()) lines.whole_signed("balance", ss.balance_pct, "%");
  lines.per_output(lines.two_outputs() ? "output impedance, one output alone" : "output impedance",
                   ss.output_impedance_alone_ohm, "ohm");
  const Pair in_place = output_impedance_in_place_ohm(ss, r.design.load_ohm, outputs(r.design.circuit));
  bool differs = false;
  for (std::size_t i = 0; i < static_cast<std::size_t>(outputs(r.design.circuit)); ++i)
    differs |= std::abs(in_place[i] / ss.output_impedance_alone_ohm[i] - 1) > kWorthShowing;
  if (differs)
    lines.per_output(
        lines.two_outputs() ? "with both leaks of the load in place" : "with the load's leak in place",
        in_place, "ohm");
  if (lines.two_outputs())
    lines.per_output("output impedance, push-pull", ss.output_impedance_differential_ohm, "ohm");
  if (ss.input_ohm > 0) lines.whole("input resistance", ss.input_ohm, "ohm");
  return lines.take();
}

std::vector<ValueLine> target_values(const Record& r) {
  const SteadyState& s = r.evaluation.at_target;
  if (s.solved != Solved::yes) return {};
  Lines lines(r.design);
  lines.whole("input drive, peak", s.input_peak_v, "V");
  if (has_first_stage(r.design)) lines.whole("sensitivity, rms", s.input_peak_v / std::numbers::sqrt2, "V");
  lines.per_output("output, peak", s.output_peak_v, "V");
  lines.per_output("total harmonic distortion", s.thd_pct, "%");
  if (lines.two_outputs()) {
    lines.whole("distortion of the difference", s.thd_differential_pct, "%");
    lines.whole_signed("balance", s.balance_pct, "%");
  }
  lines.per_section("grid to cathode, highest", s.grid_to_cathode_peak_v, "V");
  lines.per_section("plate current, least", s.plate_current_low_a, "A");
  if (r.design.main_supply_v > 0) lines.whole("supply behind the dropping resistor", s.supply_v, "V");
  if (member::tail_compliance_v.applies(r.design))
    lines.whole(
        "least left for the sink (it needs " + engineering_text(r.design.tail.compliance_v, "V") + ")",
        s.tail_low_v, "V");
  return lines.take();
}

std::vector<ValueLine> frequency_values(const Record& r) {
  if (!r.evaluation.frequency_known) return {};
  const FrequencyFigures& f = r.evaluation.frequency;
  Lines lines(r.design);
  const auto corner = [&](const char* label, const auto& hz) {
    std::array<std::string, 2> texts;
    for (int i = 0; i < 2; ++i) texts[i] = hz[i] ? engineering_text(*hz[i], "Hz") : "none";
    lines.texts_per_output(label, {texts[0], texts[1]});
  };
  corner("-3 dB at the low end", f.low_corner_hz);
  corner("-3 dB at the high end", f.high_corner_hz);
  lines.whole("input capacitance", f.input_f, "F");
  if (lines.two_outputs())
    for (const auto& at : f.balance) {
      const std::string where = " at " + engineering_text(at.frequency_hz, "Hz");
      lines.whole_signed("balance" + where, at.amplitude_pct, "%");
      lines.whole_text("phase off opposite" + where, significant_text(at.phase_deg, 3, 3) + "°");
    }
  lines.per_output("ripple per volt on the supply, 100 Hz", f.ripple_v_per_v, "V");
  if (lines.two_outputs())
    lines.whole("ripple between the outputs", without_rounding(f.ripple_difference_v_per_v, 1e-9), "V");
  const NoiseFigures& n = f.noise;
  lines.per_output("noise, 20 Hz to 20 kHz", n.output_v_rms, "V");
  lines.per_output("noise below the target", n.below_target_db, "dB");
  if (lines.two_outputs()) {
    lines.whole("noise between the outputs", n.difference_v_rms, "V");
    lines.whole("its distance below the target", n.difference_below_target_db, "dB");
  }
  lines.whole("noise as if at the input", n.input_v_rms, "V");
  return lines.take();
}

std::vector<ValueLine> harmonic_values(const Record& r) {
  const SteadyState& s = r.evaluation.at_target;
  if (s.solved != Solved::yes) return {};
  Lines lines(r.design);
  for (int order = 2; order <= kHarmonics; ++order)
    lines.texts_per_output(std::to_string(order),
                           {percent_text(s.harmonic_pct(0, order)), percent_text(s.harmonic_pct(1, order))});
  return lines.take();
}

std::vector<std::string> missing_in_words(const Evaluation& e) {
  const auto sentence = [](std::string_view what, Solved solved) {
    return std::string(what) + ": " + std::string(reason(solved)) + ".";
  };
  if (e.operating_point.solved != Solved::yes)  // everything else stands on it
    return {sentence("No operating point", e.operating_point.solved)};
  std::vector<std::string> missing;
  if (e.at_target.solved != Solved::yes)
    missing.push_back(sentence("No figures at the target", e.at_target.solved));
  if (e.clean.solved != Solved::yes) missing.push_back(sentence("No clean swing", e.clean.solved));
  return missing;
}

std::string clean_swing_in_words(const Record& r) {
  const CleanSwing& clean = r.evaluation.clean;
  if (clean.solved != Solved::yes) return "";
  if (clean.swing_peak_v <= 0)
    return "No clean swing at any drive: stopped at once by " +
           std::string(limit_in_words(clean.limited_by)) + ".";
  return "Clean up to " + engineering_text(clean.swing_peak_v, "V") + " peak per output (" +
         signed_engineering_text(clean.headroom_db, "dB") + " against the target); then stopped by " +
         std::string(limit_in_words(clean.limited_by)) + ". The clean limit is " +
         engineering_text(r.design.clean_limit_pct, "%") + " distortion.";
}

namespace {

std::string words_of(const Design& d, const std::optional<engine::TwoPart>& plate_2_of) {
  const auto two_parts = partly_bypassed(circuit_of(d));
  const auto in_two = [&](const DesignField& field, const DesignField* PartlyBypassed::*place) {
    return std::find_if(two_parts.begin(), two_parts.end(), [&](const PartlyBypassed& p) {
      return p.part && p.part->value(d) > 0 && p.*place == &field;
    });
  };
  std::string text = d.tube[0]->name;
  if (sections(d.circuit) == 2 && d.tube[1] != d.tube[0]) text += " and " + d.tube[1]->name;
  if (has_first_stage(d))
    text += " behind " + first_stage_in_words(d) +
            (has_role(d, Role::coupling_between) ? ", coupled by a capacitor," : ", coupled directly,");
  if (has_driver(d))
    text += (d.driver.form == DriverForm::cathode_followers ? " with followers " : " with a driver pair ") +
            d.driver.tube->name;
  text += d.main_supply_v > 0 ? " on a main supply of " + engineering_text(d.main_supply_v, "V", 4) + ":"
                              : " at " + engineering_text(d.supply_v, "V", 4) + ":";
  const char* comma = " ";
  for (const DesignField& field : design_fields()) {
    if (!field.applies(d) || told_elsewhere(field)) continue;
    const bool rail = &field == &member::bias_rail_v;
    if (field.role != FieldRole::resistor && field.role != FieldRole::setting && !rail) continue;
    if (field.value(d) == 0 || in_two(field, &PartlyBypassed::part) != two_parts.end()) continue;
    if (&field == &member::plate_ohm_0)
      text += comma + plate_resistors_in_words(d, plate_2_of);
    else if (const auto two = in_two(field, &PartlyBypassed::whole); two != two_parts.end())
      text += comma + in_two_parts(d, *two);
    else
      text += comma + std::string(label_in(d, field)) + " " + engineering_text(field.value(d), field.unit, 4);
    comma = ", ";
  }
  for (int i = 0; i < sections(d.circuit); ++i) {
    const SectionSpread& s = d.spread[static_cast<std::size_t>(i)];
    if (s.none()) continue;
    text += ", section " + std::to_string(i + 1) + " with";
    if (s.current != 1) text += " " + engineering_text(100 * s.current, "%", 4) + " of its type's current";
    if (s.current != 1 && s.mu != 1) text += " and";
    if (s.mu != 1) text += " " + engineering_text(100 * s.mu, "%", 4) + " of its amplification factor";
  }
  return text;
}

}  // namespace
}  // namespace antiphase
