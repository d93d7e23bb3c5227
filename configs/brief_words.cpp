#include <algorithm>
#include <array>

#include "configs/choices.h"
#include "configs/forms_of_space.h"
#include "configs/read_brief.h"
#include "configs/read_demands.h"
#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

std::string_view words(BiasForm form) {
  switch (form) {
    case BiasForm::self_biased:
      return "self-biased";
    case BiasForm::direct_coupled:
      return "direct-coupled to the stage before";
    case BiasForm::negative_rail:
      return "tail to a negative rail";
  }
  return "";
}
std::string_view words(TailForm form) {
  return form == TailForm::resistor ? "a resistor" : "a constant-current sink";
}

template <class Form>
std::string alternatives(const std::vector<Form>& forms) {
  std::vector<std::string> names;
  for (const auto form : forms) names.emplace_back(words(form));
  return any_of(names);
}

std::string range_in_words(const Range& r, std::string_view unit) {
  if (r.fixed()) return exactly(r.low, unit);
  if (!r.values.empty()) {
    std::vector<std::string> values;
    for (const double v : r.values) values.push_back(exactly(v, unit));
    return values.size() <= 8
               ? any_of(values)
               : std::to_string(values.size()) + " values from " + values.front() + " to " + values.back();
  }
  auto text = exactly(r.low, unit) + " to " + exactly(r.high, unit);
  return r.step > 0 ? text + " in steps of " + exactly(r.step, unit) : text;
}

std::string target_sentence(const Brief& brief) {
  const auto swing = engineering_text(brief.space.given.swing_peak_v, "V", 4) + " peak";
  const std::string each =
      outputs(brief.space.circuit()) == 2 ? "Each output has to swing " : "The output has to swing ";
  if (const OutputStage& o = brief.space.given.output_stage; o.given)
    return each + swing + ": what a pair of " + o.pair.valve[0]->name + " at " +
           exactly(o.pair.supply_v, "V") + " takes at each grid for " + exactly(o.watts, "W") + " into " +
           exactly(o.pair.transformer.load_ohm, "ohm") + ", solved with the laws of its card.";
  if (const OutputValveCondition* c = brief.output_valve_condition)
    return each + swing + ": half of " + exactly(*c->drive_grid_to_grid_peak_v, "V") +
           ", the drive from grid to grid that the card publishes for a pair with a cathode resistor of " +
           exactly(*c->cathode_ohm, "ohm") + " at " + exactly(c->plate_v, "V") + " (" + c->source +
           "), times " + exactly(brief.drive_margin, "1") + " for margin.";
  if (!brief.output_valve_bias_v) return each + swing + ".";
  return each + swing + ": the output valve's bias of " + exactly(*brief.output_valve_bias_v, "V") +
         ", times " + exactly(brief.drive_margin, "1") + " for margin.";
}

std::string variables_sentence(const DesignSpace& s) {
  std::vector<std::string> parts{"supply " + range_in_words(s.supply_v, "V"),
                                 "plate current " + range_in_words(s.plate_current_a, "A") + " per section",
                                 "plate resistor " + range_in_words(s.plate_ohm, "ohm")};
  const auto also = [&](SizingInput input, std::string_view description, std::string_view unit) {
    if (s.some_circuit([&](CircuitKind kind) { return has_sizing_input(kind, input); }))
      parts.push_back(std::string(description) + " " + range_in_words(s.*row_of(input).range, unit));
  };
  also(SizingInput::plate_ohm_ratio, "the second plate resistor over the first", "1");
  also(SizingInput::tail_fraction, "share of the supply across the tail", "1");
  also(SizingInput::first_plate_ohm, "plate resistor of the first stage", "ohm");
  also(SizingInput::first_plate_current_a, "its plate current", "A");
  for (const DesignSpace::OwnRange& own : s.own_ranges)
    parts.push_back(std::string(own.part->label) + " " + range_in_words(own.range, own.part->unit));
  if (s.first_plate_v)
    parts.push_back("plate of the first stage at " + range_in_words(*s.first_plate_v, "V"));
  std::string text = "Within: ";
  for (std::size_t i = 0; i < parts.size(); ++i) text += (i ? "; " : "") + parts[i];
  return text + ".";
}

std::string load_sentence(const Brief& brief) {
  const Design& d = brief.space.given;
  const std::string each = outputs(d.circuit) == 2 ? " at each output" : "";
  if (!d.output_valve)
    return "It drives " + exactly(d.load_ohm, "ohm") + " and " + exactly(d.load_f, "F") + each + ".";
  std::string text = "Each output drives the grid of an output valve, type " + d.output_valve->name +
                     (d.output_valve_bias == OutputBias::cathode ? ", biased by its cathode, at " : " at ") +
                     exactly(d.output_valve_bias_v, "V") + ", with a leak of " + exactly(d.load_ohm, "ohm") +
                     " and a capacitance of " + exactly(d.load_f, "F");
  if (brief.load_f_from_card) return text + ", the valve's own as its card has it, without wiring.";
  if (d.load_f == 0) text += " (its card gives none)";
  return text + ".";
}

/// Forms that some circuit takes, each once.
template <class Form>
std::vector<Form> forms_taken(const DesignSpace& s, std::span<const Form> CircuitEntry::*of_circuit,
                              std::vector<Form> (*open)(const DesignSpace&, CircuitKind)) {
  std::vector<Form> all;
  for (const CircuitKind kind : s.circuits) {
    if ((circuit(kind).*of_circuit).empty()) continue;
    for (const Form form : open(s, kind))
      if (std::find(all.begin(), all.end(), form) == all.end()) all.push_back(form);
  }
  return all;
}

/// The forms that candidates may take, as far as a circuit chooses any.
std::string forms_sentence(const DesignSpace& s) {
  const std::vector<BiasForm> bias = forms_taken<BiasForm>(s, &CircuitEntry::bias_forms, &bias_forms_of);
  const std::vector<TailForm> tail = forms_taken<TailForm>(s, &CircuitEntry::tail_forms, &tail_forms_of);
  std::string text;
  if (!bias.empty()) text = "Bias: " + alternatives(bias);
  if (!tail.empty()) text += (text.empty() ? "Tail: " : "; tail: ") + alternatives(tail);
  if (text.empty()) return text;
  return text + (s.circuits.size() > 1 ? ", each as far as the circuit has it." : ".");
}

std::string main_supply_sentence(const DesignSpace& s) {
  return "The stage hangs on a main supply of " + exactly(s.given.main_supply_v, "V") +
         " behind a dropping resistor, which is one of the parts; its own supply follows from the current" +
         (s.given.reservoir_f > 0 ? ". The reservoir capacitor is " + exactly(s.given.reservoir_f, "F") + "."
                                  : ".");
}

std::string clamp_sentence(bool clamped) {
  return clamped
             ? "Directly coupled stages have a clamp diode from each grid to the cathode, for the time "
               "before the cathodes are warm."
             : "Directly coupled stages have no clamp diodes: before the cathodes are warm the grids stand "
               "at the whole supply, so such stages break the limit for cold grids.";
}

/// What is given in any of the circuits.
Design given_in_all(const DesignSpace& space) {
  Design all = space.given;
  for (const DesignSpace::OwnRange& own : space.own_ranges)
    for (const CircuitKind kind : space.circuits) {
      const Design given = given_in(space_of(space, kind));
      if (own.range.fixed() && own.part->value(given) == own.range.low) own.part->at(all) = own.range.low;
    }
  return all;
}

std::string conditions_sentence(const DesignSpace& space) {
  const Design d = given_in_all(space);
  std::string text = "Given: heater at " + exactly(d.heater_v, "V") + " against ground, source resistance " +
                     exactly(d.source_ohm, "ohm");
  if (!space.own_range(member::grid_leak_ohm)) text += ", grid leak " + exactly(d.grid_leak_ohm, "ohm");
  if (d.coupling_f > 0) text += ", coupling capacitor " + exactly(d.coupling_f, "F");
  if (d.grid_bypass_f > 0) text += ", grid 2 bypass " + exactly(d.grid_bypass_f, "F");
  if (d.input_coupling_f > 0) text += ", input capacitor " + exactly(d.input_coupling_f, "F");
  if (d.source_f > 0) text += ", capacitance across the input " + exactly(d.source_f, "F");
  if (d.cathode_bypass_f > 0) text += ", cathode bypass " + exactly(d.cathode_bypass_f, "F");
  // a brief leaves no part of this resistor without its capacitor
  if (space.some_circuit([](CircuitKind kind) { return has_member(kind, member::cathode_ohm); }))
    text += ", cathode resistor bypassed";
  return text + "; the swing counts as clean up to " + exactly(d.clean_limit_pct, "%") + " distortion.";
}

std::string parts_sentence(const DesignSpace& s) {
  std::string text;
  if (s.on_hand && !s.on_hand->resistors.empty()) {
    int pieces = 0;
    for (const Stock::Item& item : s.on_hand->resistors) pieces += item.pieces;
    text = "Resistors are taken from those on hand, " + std::to_string(s.on_hand->resistors.size()) +
           " values and " + std::to_string(pieces) +
           " pieces, none more often than it is there; parts that the brief gives count if their value is "
           "listed";
  } else {
    text = "Resistors are taken from the " + std::string(engine::name_of(s.resistor_series)) + " series";
    for (const DesignSpace::OwnSeries& own : s.own_series)
      text += ", the " + std::string(own.part->label) + " from " + std::string(engine::name_of(own.series));
  }
  if (s.plate_2_of_two) text += "; plate resistor 2 may be two of them, in series or parallel";
  if (s.on_hand && !s.on_hand->capacitors.empty())
    text += "; capacitors from the " + std::to_string(s.on_hand->capacitors.size()) + " values on hand";
  return text + ".";
}

std::string objectives_sentence(const Demands& demands) {
  std::string text = "Score, smaller is better: ";
  for (std::size_t i = 0; i < demands.objectives.size(); ++i) {
    const auto& o = demands.objectives[i];
    constexpr std::array<std::string_view, 3> kBetter{"low", "high", "near zero"};
    text += (i ? "; " : "") + std::string(o.figure->label) + " " +
            std::string(kBetter[static_cast<std::size_t>(o.figure->direction)]) + ", weight " +
            exactly(o.weight, "1") + ", in units of " + exactly(o.scale, o.figure->unit);
  }
  return text + ".";
}

/// "A split-load phase splitter", "Circuits that are compared: a … or a …, each".
std::string circuits_in_words(const DesignSpace& space) {
  if (space.circuits.size() == 1) return "A " + std::string(circuit(space.circuit()).label);
  std::vector<std::string> names;
  for (const CircuitKind kind : space.circuits) names.push_back("a " + std::string(circuit(kind).label));
  return "Circuits that are compared: " + any_of(names) + ", each";
}

std::string limit_sentence(const FigureLimit& l, const DesignSpace& space) {
  const auto subject = std::string(l.figure->direction == Direction::nearer_zero ? "size of " : "") +
                       std::string(l.figure->label);
  std::vector<std::string> sides;
  if (l.at_least) sides.push_back("at least " + exactly(*l.at_least, l.figure->unit));
  if (l.at_most) sides.push_back("at most " + exactly(*l.at_most, l.figure->unit));
  std::vector<std::string> held;
  for (const CircuitKind kind : space.circuits)
    if (is_held(l, kind)) held.emplace_back(circuit(kind).label);
  const std::string where = held.size() < space.circuits.size() ? ", in the " + all_of(held) + " only" : "";
  return "Limit: " + subject + " " + all_of(sides) + where + ".";
}

std::string bound_in_words(const SensibleFigure& row, const SensibleBounds& bounds) {
  const Figure& figure = *row.figure;
  const std::string value = exactly(bounds.*row.bound, figure.unit);
  if (figure.direction == Direction::nearer_zero) return std::string(figure.label) + " within " + value;
  return std::string(figure.label) + " " + value + (row.at_least ? " or more" : " or less");
}

/// Whether the circuit has such a part that the brief does not give.
bool leaves_open(const DesignSpace& space, const SensiblePart& part) {
  return in_some_form(space, space.given, [&](const Design& d) {
    const Circuit& list = circuit_of(d);
    return std::any_of(list.begin(), list.end(), [&](const Element& e) {
      return e.role != Role::none && e.there(d) && e.member && !(e.member->value(space.given) > 0) &&
             std::find(part.roles.begin(), part.roles.end(), e.role) != part.roles.end();
    });
  });
}

/// "balance within 10 %, headroom 0 dB or more, …": those that hold in this brief.
std::string bounds_in_words(const Brief& brief) {
  std::vector<std::string> bounds;
  for (const SensibleFigure& row : kSensibleFigures)
    if (brief.space.some_circuit([&](CircuitKind kind) {
          return has_figure(kind, *row.figure) && !has_own_limit(brief.demands, *row.figure, kind);
        }))
      bounds.push_back(bound_in_words(row, brief.sensible));
  for (const SensiblePart& part : kSensibleParts)
    if (brief.sensible.*part.bound > 0 && leaves_open(brief.space, part))
      bounds.push_back(std::string(part.label) + " of " + exactly(brief.sensible.*part.bound, part.unit) +
                       " or more");
  return all_of(bounds);
}

std::string sensible_sentence(const Brief& brief) {
  return "Named designs of the front and near misses are taken among those within what is common practice "
         "unless the brief says otherwise: " +
         bounds_in_words(brief) + ". A section rests at " +
         exactly(brief.demands.factors.least_plate_current_a, "A") + " or more.";
}

std::string factors_sentence(const DesignFactors& f) {
  const auto share = [](double factor) { return engineering_text(100 * factor, "%"); };
  return "Of the ratings a design may use " + share(f.plate_dissipation) + " of plate dissipation, " +
         share(f.plate_voltage) + " of plate voltage, " + share(f.cathode_current) + " of cathode current, " +
         share(f.heater_cathode) + " of heater-to-cathode voltage, " + share(f.resistor_power) +
         " of resistor power and " + share(f.resistor_voltage) + " of resistor voltage.";
}

std::string tolerances_in_words(const Brief& brief) {
  const Tolerances& t = brief.builds->tolerances;
  std::string text =
      "resistors within " + exactly(t.resistor_pct, "%") + ", capacitors within " +
      exactly(t.capacitor_pct, "%") + ", mains within " + exactly(t.mains_pct, "%") +
      ", plate current within " +
      (t.plate_current_pct ? exactly(*t.plate_current_pct, "%") : std::string("what each tube's card says")) +
      ", amplification factor within " + exactly(t.mu_pct, "%");
  if (t.emission_left < 1)
    text += ", tubes down to " + engineering_text(100 * t.emission_left, "%") + " of their emission";
  if (!brief.tolerances_file.empty()) text += "; " + brief.tolerances_file;
  return text;
}

std::string builds_sentence(const Brief& brief) {
  const BuildsRequest& input = *brief.builds;
  const std::string percent = engineering_text(100 * input.percentile, "%", 4);
  const std::string of =
      "of " + std::to_string(input.builds) + " builds (" + tolerances_in_words(brief) + ")";
  switch (input.rank_by) {
    case RankBy::nominal:
      return "Ranked by the nominal score; builds are looked at all the same (" + tolerances_in_words(brief) +
             ").";
    case RankBy::yield:
      return "Ranked by yield: how many " + of +
             " reach the target and keep every limit; among equals, by the score that " + percent +
             " of the builds reach.";
    case RankBy::percentile:
      return "Ranked by the score that " + percent + " " + of + " reach while they keep every limit.";
  }
  return "";
}

}  // namespace

std::vector<std::string> brief_in_words(const Brief& brief) {
  const DesignSpace& space = brief.space;
  std::vector<std::string> sentences;
  std::vector<std::string> tubes;
  for (const auto* tube : space.tubes) tubes.push_back(tube->name);
  sentences.push_back(circuits_in_words(space) + " with the " + any_of(tubes) + ".");
  for (const std::string& left_out : brief.circuits_left_out) sentences.push_back(left_out);
  for (const std::string& own : brief.own_tubes_in_words) sentences.push_back(own);
  if (space.some_circuit([](CircuitKind kind) { return has_first_stage(kind); })) {
    std::vector<std::string> first;
    for (const auto* tube : space.first_tubes) first.push_back(tube->name);
    sentences.push_back((space.circuits.size() > 1 ? "A gain stage ahead of it, where there is one, has the "
                                                   : "The gain stage ahead of it has the ") +
                        any_of(first) + ".");
  }
  sentences.push_back(target_sentence(brief));
  sentences.push_back(load_sentence(brief));
  if (space.given.main_supply_v > 0) sentences.push_back(main_supply_sentence(space));
  sentences.push_back(variables_sentence(space));
  const auto has_somewhere = [&](Role role) {
    return in_some_form(space, space.given, [&](const Design& d) { return has_role(d, role); });
  };
  if (const std::string forms = forms_sentence(space); !forms.empty()) sentences.push_back(forms);
  if (has_somewhere(Role::rail) && !space.own_range(member::bias_rail_v))
    sentences.push_back(space.given.bias.rail_v < 0
                            ? "The negative rail is " + exactly(space.given.bias.rail_v, "V") + "."
                            : "The negative rail is open.");
  if (has_somewhere(Role::grid_clamp)) sentences.push_back(clamp_sentence(space.given.bias.grid_clamp));
  if (in_some_form(space, space.given,
                   [](const Design& d) { return names_member(circuit_of(d), member::tail_output_ohm); }))
    sentences.push_back("The sink has an output resistance of " +
                        exactly(space.given.tail.output_ohm, "ohm") + " and needs at least " +
                        exactly(space.given.tail.compliance_v, "V") + ".");
  sentences.push_back(conditions_sentence(space));
  sentences.push_back(parts_sentence(space));
  if (space.low_frequency_hz)
    sentences.push_back("Each output's -3 dB point at the low end is at or below " +
                        exactly(*space.low_frequency_hz, "Hz") +
                        "; capacitors that are not given are chosen for it from the " +
                        std::string(engine::name_of(space.capacitor_series)) + " series.");
  sentences.push_back(objectives_sentence(brief.demands));
  for (const auto& limit : brief.demands.limits) sentences.push_back(limit_sentence(limit, space));
  sentences.push_back(sensible_sentence(brief));
  if (brief.demands.factors.supply_waits)
    sentences.push_back("The supply comes up only when the heaters are warm.");
  sentences.push_back(factors_sentence(brief.demands.factors));
  if (brief.builds) sentences.push_back(builds_sentence(brief));
  sentences.push_back("The best " + std::to_string(brief.candidates) + " are kept; effort " +
                      std::string(kEfforts[static_cast<std::size_t>(brief.effort)]) + ", seed " +
                      std::to_string(brief.seed) + ".");
  return sentences;
}

std::string taken_among_in_words(const Brief& brief, const std::string& designs, std::size_t within,
                                 std::size_t all) {
  const std::string changed = " A limit of the brief's own or its member sensible changes that.";
  if (within == 0)
    return "None of the " + std::to_string(all) + " " + designs +
           " is within what is common practice, so they are taken among all: " + bounds_in_words(brief) +
           " would be wanted." + changed;
  return "Taken among the " + std::to_string(within) + " of " + std::to_string(all) + " " + designs +
         " with " + bounds_in_words(brief) + ", as no demand of the brief says otherwise." + changed;
}

}  // namespace antiphase
