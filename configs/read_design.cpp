#include "configs/read_design.h"

#include <algorithm>

#include "configs/card_members.h"
#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/object_reader.h"
#include "configs/quantity_text.h"
#include "configs/wording.h"

namespace antiphase {
namespace {

/// First and second step of a field's pointer: "/bias/ohm" -> "bias", "ohm"; "/supply_v" -> "supply_v", "".
struct Steps {
  std::string_view first, second;
};
Steps steps_of(const DesignField& field) {
  const auto path = field.pointer.substr(1);
  const auto slash = path.find('/');
  if (slash == path.npos) return {path, {}};
  return {path.substr(0, slash), path.substr(slash + 1)};
}

void read_tubes(ObjectReader& in, const TubeLibrary& library, Design& design) {
  const auto member = in.require("tube", "the type of the tube, or [type, type] for the two sections");
  if (!member) return;
  if (member->kind() != JsonKind::list) {
    design.tube[0] = design.tube[1] = read_tube_name(*member, library);
    return;
  }
  if (sections(design.circuit) == 1)
    return member->fault("must be one type: a " + std::string(name_of(design.circuit)) +
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

/// The two plate resistors of a pair; the one of a gain stage, as a number or a list of one.
void read_plate_resistors(ObjectReader& in, Design& design) {
  const auto field = [](std::size_t i) {
    return *find_design_field(i == 0 ? "/plate_ohm/0" : "/plate_ohm/1");
  };
  const auto count = static_cast<std::size_t>(sections(design.circuit));
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
    if (in.find(name)) in.fault(name, why_not_applicable(field, design));
    return;
  }
  const auto says = std::string(field.label) + " in " + std::string(field.unit);
  const auto value =
      field.required ? in.required_number(name, says, rule_of(field)) : in.number(name, rule_of(field));
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
  if (sections(design.circuit) == 1) return member->fault(no_meaning_in(design.circuit));
  ObjectReader part(*member);
  if (const auto m = part.require("type", "the type of the output valve"))
    design.output_valve = read_output_valve_name(*m, library);
  design.output_valve_bias_v =
      part.required_number("bias_v", "its grid against its cathode at rest, in V", kOutputBias).value_or(0);
}

/// An object of the pair with a form and the numbers that go with it: "bias", "tail".
template <class Enum, std::size_t N>
void read_form(ObjectReader& in, std::string_view name, std::string_view says,
               const std::array<Enum, N>& choices, Enum& form, Design& design) {
  if (sections(design.circuit) == 1) {
    if (in.find(name)) in.fault(name, no_meaning_in(design.circuit));
    return;
  }
  const auto member = in.require(name, says);
  if (!member) return;
  ObjectReader part(*member);
  const auto chosen = part.require("form", "one of " + one_of(names_of(choices)));
  const auto index = chosen ? chosen->choice(names_of(choices)) : std::nullopt;
  if (!index) return part.know_all();
  form = choices[*index];
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == name)
      read_field(part, steps.second, field, design);
  if (name == "bias")
    design.bias.grid_clamp =
        read_grid_clamp(part, design.bias.form == BiasForm::direct_coupled, design).value_or(false);
}

/// The gain stage ahead of the pair. How it is coupled follows from the pair's bias; a file may say it too.
void read_first_stage(ObjectReader& in, const TubeLibrary& library, Design& design) {
  if (!has_first_stage(design)) {
    if (in.find("first_stage")) in.fault("first_stage", no_meaning_in(design.circuit));
    return;
  }
  const auto member = in.require("first_stage", "the gain stage ahead of the pair");
  if (!member) return;
  ObjectReader part(*member);
  if (const auto m = part.require("tube", "the type of the first stage's tube"))
    design.first_stage.tube = read_tube_name(*m, library);
  if (const auto m = part.find("section")) read_spread(*m, design.first_stage.spread);
  if (const auto m = part.find("coupling"))
    if (const auto chosen = m->choice({kInterstageCouplings.begin(), kInterstageCouplings.end()})) {
      const bool direct = direct_first_stage(design);
      if ((*chosen == 1) != direct)
        m->fault("does not go with " + std::string(name_of(design.bias.form)) +
                 " bias of the pair, which is " +
                 std::string(direct ? "coupled directly: say \"direct\""
                                    : "coupled through a capacitor: say \"capacitor\""));
    }
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == "first_stage")
      read_field(part, steps.second, field, design);
  const FirstStage& f = design.first_stage;
  if (f.cathode_ohm > 0 && f.cathode_unbypassed_ohm > f.cathode_ohm)
    part.fault("cathode_unbypassed_ohm", "is a part of cathode_ohm and must be at most " +
                                             exactly(f.cathode_ohm, "ohm") + ", is " +
                                             exactly(f.cathode_unbypassed_ohm, "ohm"));
}

/// The budget of overall feedback of a chain.
void read_feedback(ObjectReader& in, Design& design) {
  const auto member = in.find("feedback");
  if (!member) return;
  if (!has_first_stage(design)) return member->fault(no_meaning_in(design.circuit));
  design.feedback.given = true;
  ObjectReader part(*member);
  for (const auto& field : design_fields())
    if (const auto steps = steps_of(field); steps.first == "feedback")
      read_field(part, steps.second, field, design);
  if (!(design.first_stage.cathode_unbypassed_ohm > 0))
    member->fault("needs a place to come in: give first_stage a cathode_unbypassed_ohm above 0 ohm");
}

/// What no single member shows to be wrong.
void check_together(const Cursor& root, const Design& d) {
  const auto unbypassed = root.member("cathode_unbypassed_ohm");
  if (d.circuit == CircuitKind::common_cathode && unbypassed && d.cathode_ohm > 0 &&
      d.cathode_unbypassed_ohm > d.cathode_ohm)
    unbypassed->fault("is a part of cathode_ohm and must be at most " + exactly(d.cathode_ohm, "ohm") +
                      ", is " + exactly(d.cathode_unbypassed_ohm, "ohm"));
  const auto bias = root.member("bias");
  const auto grid_v = bias ? bias->member("grid_v") : std::nullopt;
  const double supply_v = cold_supply_v(d);
  if (grid_v && supply_v > 0 && d.bias.grid_v >= supply_v)
    grid_v->fault(std::string("must be below ") + (d.main_supply_v > 0 ? "main_supply_v, " : "supply_v, ") +
                  exactly(supply_v, "V") + ", is " + exactly(d.bias.grid_v, "V"));
}

Design read_members(const Cursor& root, const TubeLibrary& library) {
  ObjectReader in(root);
  Design design;
  for (const auto name : {"$schema", "title"}) in.text(name);
  in.texts("notes");

  const auto stage = in.require("stage", one_of(names_of(kCircuitKinds)));
  const auto kind = stage ? stage->choice(names_of(kCircuitKinds)) : std::nullopt;
  if (!kind) {
    for (const auto name : {"tube", "sections", "output_valve", "first_stage", "feedback"}) in.know(name);
    for (const auto& field : design_fields()) in.know(steps_of(field).first);
    return design;
  }
  design.circuit = kCircuitKinds[*kind];
  read_tubes(in, library, design);
  read_sections(in, design);
  read_plate_resistors(in, design);
  read_form(in, "bias", "how the pair is biased", kBiasForms, design.bias.form, design);
  read_form(in, "tail", "what the common cathode current runs through", kTailForms, design.tail.form, design);
  read_first_stage(in, library, design);
  read_feedback(in, design);
  for (const auto& field : design_fields()) {
    if (field.pointer == "/main_supply_v")
      read_main_supply(in, field, design);
    else if (steps_of(field).second.empty())
      read_field(in, steps_of(field).first, field, design);
  }
  read_output_valve(in, library, design);
  check_together(root, design);
  return design;
}

OrFaults<Design> read_document(OrFaults<JsonDocument> document, const TubeLibrary& library) {
  if (auto* faults = std::get_if<Faults>(&document)) return std::move(*faults);
  const auto& json = std::get<JsonDocument>(document);
  FaultList faults(json.file);
  const auto design = read_members(Cursor(json.root, "", faults), library);
  if (!faults.empty()) return faults.take();
  return design;
}

}  // namespace

OrFaults<Design> read_design(const std::string& file, const TubeLibrary& library) {
  return read_document(load_json(file), library);
}

OrFaults<Design> read_design_text(std::string text, const std::string& file, const TubeLibrary& library) {
  return read_document(parse_json(std::move(text), file), library);
}

}  // namespace antiphase
