#include "configs/design_members.h"

#include "configs/nearest_names.h"
#include "results/text/wording.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {

NumberRule rule_of(const DesignField& field) {
  return {field.unit, field.low, field.high};
}

const Tube* read_tube_name(const Cursor& cursor, const TubeLibrary& library, Pentodes pentodes) {
  const auto name = cursor.text();
  if (!name) return nullptr;
  const auto* tube = library.find(*name);
  if (tube == nullptr) {
    const auto near = library.nearest_names(*name, 3);
    std::vector<std::string> all;
    for (const auto& t : library.tubes()) all.push_back(t.name);
    cursor.error("there is no tube card of a " + in_quotes(*name) +
                 (near.empty() ? "; there are " + all_of(all) : did_you_mean(near)));
  } else if (tube->pentode.given && pentodes == Pentodes::not_here) {
    cursor.error("is a pentode, which stands in a first stage of the form pentode only");
    return nullptr;
  }
  return tube;
}

const OutputValve* read_output_valve_name(const Cursor& cursor, const TubeLibrary& library) {
  const auto name = cursor.text();
  if (!name) return nullptr;
  const auto* valve = library.find_output_valve(*name);
  if (valve == nullptr) {
    const auto near = library.nearest_output_valves(*name, 3);
    std::vector<std::string> all;
    for (const auto& v : library.output_valves()) all.push_back(v.name);
    cursor.error("there is no output valve card of a " + in_quotes(*name) +
                 (!near.empty() ? did_you_mean(near)
                  : all.empty() ? "; there is none at all"
                                : "; there are " + all_of(all)));
  }
  return valve;
}

std::optional<bool> read_grid_clamp(ObjectReader& in, bool has, const Design& design) {
  const auto member = in.find("grid_clamp");
  if (!member) return std::nullopt;
  if (has) return member->boolean();
  Design other = design;
  for (const auto form : circuit(design.circuit).bias_forms) {
    other.bias.form = form;
    if (!has_role(other, Role::grid_clamp)) continue;
    member->error("has no meaning with " + std::string(name_of(design.bias.form)) + " bias; it belongs to " +
                  std::string(name_of(form)));
    return std::nullopt;
  }
  member->error(no_meaning_in(design.circuit));
  return std::nullopt;
}

OutputBias read_output_bias_kind(ObjectReader& in) {
  const auto member = in.find("bias");
  const auto index = member ? member->choice(names_of(kOutputBiases)) : std::nullopt;
  return index ? kOutputBiases[*index] : OutputBias::fixed;
}

Steps steps_of(const DesignField& field) {
  const auto path = field.pointer.substr(1);
  const auto slash = path.find('/');
  if (slash == path.npos) return {path, {}};
  return {path.substr(0, slash), path.substr(slash + 1)};
}

std::string no_place_for_feedback(const Design& design) {
  const DesignField* place = feedback_comes_in_at(circuit_of(design));
  if (!place || place->value(design) > 0) return "";
  const Steps steps = steps_of(*place);
  const std::string needed = std::string(steps.second.empty() ? steps.first : steps.second);
  return "needs a place to come in: give " +
         (steps.second.empty() ? "a " + needed : std::string(steps.first) + " a " + needed) + " above 0 ohm";
}

std::string no_place_for_fixed_bias(const Design& d) {
  if (!d.output_valve || d.output_valve_bias != OutputBias::fixed || !needs_next_grid_at_ground(d.circuit))
    return "";
  return "must have \"bias\": \"cathode\" behind a " + std::string(name_of(d.circuit)) +
         ": its resistors to grid 2 would draw a fixed bias away from the output valve's grid, and take grid "
         "2 "
         "with it";
}

std::string stage_in_words(const std::vector<CircuitKind>& circuits) {
  std::vector<std::string> names;
  for (const CircuitKind kind : circuits) names.emplace_back(name_of(kind));
  return any_of(names) + " stage";
}

std::string no_meaning_in(CircuitKind circuit) {
  return no_meaning_in(std::vector{circuit});
}
std::string no_meaning_in(const std::vector<CircuitKind>& circuits) {
  return "has no meaning in a " + stage_in_words(circuits);
}

std::string why_not_applicable(const DesignField& field, const Design& design) {
  if (&field == &member::supply_v && design.main_supply_v > 0)
    return "is solved from main_supply_v and dropping_ohm, and evaluate prints it; leave it out";
  Design d = design;
  d.main_supply_v = design.main_supply_v > 0 ? 0 : 1;
  if (field.applies(d)) return "has no meaning without main_supply_v";
  d = design;
  // One choice is changed at a time, the circuit last: the nearest reason is the most useful one.
  for (const auto form : circuit(d.circuit).tail_forms) {
    d.tail.form = form;
    if (field.applies(d))
      return "has no meaning with a " + std::string(name_of(design.tail.form)) + " tail; it belongs to " +
             std::string(name_of(form));
  }
  d = design;
  for (const auto form : circuit(d.circuit).bias_forms) {
    d.bias.form = form;
    if (field.applies(d))
      return "has no meaning with " + std::string(name_of(design.bias.form)) + " bias; it belongs to " +
             std::string(name_of(form));
  }
  d = design;
  for (const auto form : gain_forms(d.circuit)) {
    d.first_stage.form = form;
    if (field.applies(d))
      return "has no meaning in a first stage of the form " + std::string(name_of(design.first_stage.form)) +
             "; it belongs to " + std::string(name_of(form));
  }
  d = design;
  for (const PartlyBypassed& resistor : partly_bypassed(circuit_of(design)))
    if (resistor.part) resistor.part->at(d) = 0;
  if (field.applies(d)) return "has no meaning where no part of cathode_ohm is bypassed";
  d = design;
  d.first_stage.decoupling_ohm = member::first_stage_decoupling_ohm.high;
  if (field.applies(d)) return "has no meaning without decoupling_ohm";
  return no_meaning_in(design.circuit);
}

}  // namespace antiphase
