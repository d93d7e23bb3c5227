#include "configs/read_design.h"

#include <algorithm>
#include <cmath>

#include "configs/card_members.h"
#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/file_kind.h"
#include "configs/object_reader.h"
#include "configs/read_output_stage.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

void read_tubes(ObjectReader& in, const TubeLibrary& library, Design& design) {
  const auto member = in.require("tube", "the type of the tube, or [type, type] for the two sections");
  if (!member) return;
  if (member->kind() != JsonKind::list) {
    design.tube[0] = design.tube[1] = read_tube_name(*member, library);
    return;
  }
  if (sections(design.circuit) == 1)
    return member->error("must be one type: a " + std::string(name_of(design.circuit)) +
                         " stage has one section");
  if (const auto items = member->items(2, 2))
    for (std::size_t i = 0; i < 2; ++i) design.tube[i] = read_tube_name((*items)[i], library);
}

/// How a section differs from its type: {"current": 1.1, "mu": 0.97}.
void read_spread(const Cursor& cursor, SectionSpread& spread) {
  ObjectReader part(cursor);
  if (const auto v = part.number("current", {"1", 0.2, 3})) spread.current = *v;
  if (const auto v = part.number("mu", {"1", 0.5, 2})) spread.mu = *v;
}

/// One per section.
void read_sections(ObjectReader& in, Design& design) {
  const auto member = in.find("sections");
  if (!member) return;
  const auto count = static_cast<std::size_t>(sections(design.circuit));
  const auto items = member->items(count, count);
  if (!items) return;
  for (std::size_t i = 0; i < count; ++i) read_spread((*items)[i], design.spread[i]);
}

/// Two plate resistors, or the only one as a number or a list of one.
void read_plate_resistors(ObjectReader& in, Design& design) {
  const auto field = [](std::size_t i) -> const DesignField& {
    return i == 0 ? member::plate_ohm_0 : member::plate_ohm_1;
  };
  const auto count = static_cast<std::size_t>(plate_resistors(design.circuit));
  const auto member =
      in.require("plate_ohm", count == 2 ? "the two plate resistors, [first, second]" : "the plate resistor");
  if (!member) return;
  if (count == 1 && member->kind() != JsonKind::list) {
    design.plate_ohm[0] = member->number(rule_of(field(0))).value_or(0);
    return;
  }
  if (member->kind() != JsonKind::list)
    return member->expected("a list of the two plate resistors, [first, second]");
  if (const auto items = member->items(count, count))
    for (std::size_t i = 0; i < count; ++i)
      field(i).at(design) = (*items)[i].number(rule_of(field(i))).value_or(0);
}

/// One number that stands at `name` of `in`, if the circuit and its forms have it.
void read_field(ObjectReader& in, std::string_view name, const DesignField& field, Design& design) {
  if (!field.applies(design)) {
    if (in.find(name)) in.error(name, why_not_applicable(field, design));
    return;
  }
  const auto description = std::string(field.label) + " in " + std::string(field.unit);
  const auto value = field.required ? in.required_number(name, description, rule_of(field))
                                    : in.number(name, rule_of(field));
  if (value) field.at(design) = *value;
}

/// Which supply the design has decides what other members mean, so that a wrong number counts as given.
void read_main_supply(ObjectReader& in, const DesignField& field, Design& design) {
  if (const auto member = in.find("main_supply_v"))
    design.main_supply_v = member->number(rule_of(field)).value_or(field.high);
}

/// The valve whose grids the outputs drive.
void read_output_valve(ObjectReader& in, const TubeLibrary& library, Design& design) {
  const auto member = in.find("output_valve");
  if (!member) return;
  if (outputs(design.circuit) < 2) return member->error(no_meaning_in(design.circuit));
  if (has_output_stage(design)) return member->error(kFollowsFromOutputStage);
  ObjectReader part(*member);
  if (const auto m = part.require("type", "the type of the output valve"))
    design.output_valve = read_output_valve_name(*m, library);
  design.output_valve_bias = read_output_bias_kind(part);
  design.output_valve_bias_v =
      part.required_number("bias_v", "its grid against its cathode at rest, in V", kOutputBias).value_or(0);
  if (const std::string wrong = no_place_for_fixed_bias(design); !wrong.empty()) member->error(wrong);
}

/// The swing that output_stage takes may stand as well, as it does in designs that the program writes.
void read_swing(ObjectReader& in, Design& design) {
  constexpr double kSame = 1e-4;  // digits that are left out of a file
  const double needed_v = design.swing_peak_v;
  const auto value = in.number("swing_peak_v", rule_of(member::swing_peak_v));
  if (value && std::abs(*value - needed_v) > kSame * needed_v)
    in.error("swing_peak_v", "follows from output_stage, whose watts take " + exactly(needed_v, "V") +
                                 ": leave it out; is " + exactly(*value, "V"));
}

/// An object with a form, out of those that the circuit has, and the numbers that go with it: "bias", "tail".
template <class Form>
void read_form(ObjectReader& in, std::string_view name, std::string_view description,
               std::span<const Form> of_circuit, std::span<const Form> of_all, Form& form, Design& design) {
  if (of_circuit.empty()) {
    if (in.find(name)) in.error(name, no_meaning_in(design.circuit));
    return;
  }
  const auto member = in.require(name, description);
  if (!member) return;
  ObjectReader part(*member);
  const auto chosen = part.require("form", "one of " + one_of(names_of(of_circuit)));
  const auto found =
      chosen ? read_form_name(*chosen, name, of_circuit, of_all, {design.circuit}) : std::nullopt;
  if (!found) return part.know_all();
  form = *found;
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == name)
      read_field(part, steps.second, field, design);
  if (name == "bias")
    design.bias.grid_clamp =
        read_grid_clamp(part, has_role(design, Role::grid_clamp), design).value_or(false);
}

/// The gain stage ahead of the pair. How it is coupled follows from the pair's bias; a file may say it too.
void read_first_stage(ObjectReader& in, const TubeLibrary& library, Design& design) {
  if (!has_first_stage(design)) {
    if (in.find("first_stage")) in.error("first_stage", no_meaning_in(design.circuit));
    return;
  }
  const auto member = in.require("first_stage", "the gain stage ahead of the pair");
  if (!member) return;
  ObjectReader part(*member);
  if (const auto m = part.find("form"))
    if (const auto form = m->choice(names_of(kGainForms))) design.first_stage.form = kGainForms[*form];
  if (const auto m = part.require("tube", "the type of the first stage's tube"))
    design.first_stage.tube = read_tube_name(*m, library, Pentodes::too);
  if (const Tube* tube = design.first_stage.tube; tube && !suits(*tube, design.first_stage.form))
    part.error("tube", "is the " + tube->name +
                           (tube->pentode.given
                                ? ", a pentode, which stands in a first stage of the form pentode only"
                                : ", a triode, where the form is pentode"));
  if (has_second_section(design)) {
    const auto m = part.find("second_tube");
    design.first_stage.second_tube = m ? read_tube_name(*m, library) : design.first_stage.tube;
    if (const auto own = part.find("second_section")) read_spread(*own, design.first_stage.second_spread);
  } else {
    for (const char* name : {"second_tube", "second_section"})
      if (part.find(name))
        part.error(name, "has no meaning in a first stage of the form " +
                             std::string(name_of(design.first_stage.form)));
  }
  if (const auto m = part.find("section")) read_spread(*m, design.first_stage.spread);
  if (const auto m = part.find("coupling"))
    if (const auto chosen = m->choice({kInterstageCouplings.begin(), kInterstageCouplings.end()})) {
      const bool direct = !has_role(design, Role::coupling_between);
      if ((*chosen == 1) != direct)
        m->error("does not go with " + std::string(name_of(design.bias.form)) +
                 " bias of the pair, which is " +
                 std::string(direct ? "coupled directly: say \"direct\""
                                    : "coupled through a capacitor: say \"capacitor\""));
    }
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == "first_stage")
      read_field(part, steps.second, field, design);
}

/// The driver behind the splitter, if there is one.
void read_driver(ObjectReader& in, const TubeLibrary& library, Design& design) {
  const auto member = in.find("driver");
  if (!member) return;
  const std::span<const DriverForm> forms = driver_forms(design.circuit).subspan(1);
  if (forms.empty()) return member->error(no_meaning_in(design.circuit));
  ObjectReader part(*member);
  const auto chosen = part.require("form", "one of " + one_of(names_of(forms)));
  const auto form = chosen ? chosen->choice(names_of(forms)) : std::nullopt;
  if (!form) return part.know_all();
  design.driver.form = forms[*form];
  if (const auto m = part.require("tube", "the type of the driver's tube"))
    design.driver.tube = read_tube_name(*m, library);
  if (const auto m = part.find("sections"))
    if (const auto items = m->items(2, 2))
      for (std::size_t i = 0; i < 2; ++i) read_spread((*items)[i], design.driver.spread[i]);
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == "driver")
      read_field(part, steps.second, field, design);
}

/// The budget of overall feedback.
void read_feedback(ObjectReader& in, Design& design) {
  const auto member = in.find("feedback");
  if (!member) return;
  if (!has_role(design.circuit, Role::feedback)) return member->error(no_meaning_in(design.circuit));
  design.feedback.given = true;
  ObjectReader part(*member);
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == "feedback") {
      if (!follows_from_output_stage(field, design))
        read_field(part, steps.second, field, design);
      else if (part.find(steps.second))
        part.error(steps.second, kFollowsFromOutputStage);
    }
  feedback_of_output_stage(design);
  if (const std::string lacks = no_place_for_feedback(design); !lacks.empty()) member->error(lacks);
}

/// What no single member shows to be wrong.
void check_together(const Cursor& root, const Design& d) {
  for (const auto& [part, whole] : partly_bypassed(circuit_of(d))) {
    if (!part || !whole || !(whole->value(d) > 0) || part->value(d) <= whole->value(d)) continue;
    const Steps of_part = steps_of(*part), of_whole = steps_of(*whole);
    auto place = root.member(of_part.first);
    if (place && !of_part.second.empty()) place = place->member(of_part.second);
    if (place)
      place->error("is a part of " + std::string(of_whole.second.empty() ? of_whole.first : of_whole.second) +
                   " and must be at most " + exactly(whole->value(d), "ohm") + ", is " +
                   exactly(part->value(d), "ohm"));
  }
  const auto bias = root.member("bias");
  const auto grid_v = bias ? bias->member("grid_v") : std::nullopt;
  const double supply_v = cold_supply_v(d);
  if (grid_v && supply_v > 0 && d.bias.grid_v >= supply_v)
    grid_v->error(std::string("must be below ") + (d.main_supply_v > 0 ? "main_supply_v, " : "supply_v, ") +
                  exactly(supply_v, "V") + ", is " + exactly(d.bias.grid_v, "V"));
}

Design read_members(const Cursor& root, const TubeLibrary& library) {
  ObjectReader in(root);
  Design design;
  for (const auto name : {"$schema", "title"}) in.text(name);
  in.texts("notes");

  const auto stage = in.require("stage", one_of(circuit_names()));
  const auto kind = stage ? stage->choice(circuit_names()) : std::nullopt;
  if (!kind) {
    for (const auto name :
         {"tube", "sections", "output_valve", "output_stage", "first_stage", "driver", "feedback"})
      in.know(name);
    for (const auto& field : design_fields()) in.know(steps_of(field).first);
    return design;
  }
  design.circuit = circuits()[*kind].kind;
  read_tubes(in, library, design);
  read_sections(in, design);
  read_plate_resistors(in, design);
  const CircuitEntry& entry = circuit(design.circuit);
  read_form<BiasForm>(in, "bias", "how the stage is biased", entry.bias_forms, kBiasForms, design.bias.form,
                      design);
  read_form<TailForm>(in, "tail", "what the common cathode current runs through", entry.tail_forms,
                      kTailForms, design.tail.form, design);
  read_driver(in, library, design);
  read_first_stage(in, library, design);
  read_output_stage(in, library, design);
  read_feedback(in, design);
  for (const auto& field : design_fields()) {
    if (&field == &member::main_supply_v)
      read_main_supply(in, field, design);
    else if (&field == &member::swing_peak_v && has_output_stage(design))
      read_swing(in, design);
    else if (steps_of(field).second.empty())
      read_field(in, steps_of(field).first, field, design);
  }
  read_output_valve(in, library, design);
  check_together(root, design);
  return design;
}

OrErrors<Design> read_document(OrErrors<JsonDocument> document, const TubeLibrary& library) {
  if (auto* errors = std::get_if<InputErrors>(&document)) return std::move(*errors);
  const auto& json = std::get<JsonDocument>(document);
  InputErrorList errors(json.file);
  if (const auto other = other_kind(json.root, FileKind::design); !other.empty()) {
    errors.add("", json.root.place, other);
    return errors.take();
  }
  const auto design = read_members(Cursor(json.root, "", errors), library);
  if (!errors.empty()) return errors.take();
  return design;
}

}  // namespace

OrErrors<Design> read_design(const std::string& file, const TubeLibrary& library) {
  return read_document(load_json(file), library);
}

OrErrors<Design> read_design_text(std::string text, const std::string& file, const TubeLibrary& library) {
  return read_document(parse_json(std::move(text), file), library);
}

}  // namespace antiphase
