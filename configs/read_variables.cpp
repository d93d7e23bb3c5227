#include "configs/read_variables.h"

#include <algorithm>
#include <cmath>

#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/forms_of_space.h"
#include "configs/read_circuits.h"
#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kMostSteps = 10'000;  // more is a slip of the decimal point
constexpr std::size_t kMostValues = 1000;
/// No plate resistor is smaller and no driver tube's plate current larger (common practice: the library's
/// ratings end at some ten milliamperes): a number beyond them has lost its prefix.
constexpr double kLeastPlate_ohm = 500, kMostPlate_ohm = 2e6, kMostPlate_a = 0.1;
constexpr NumberRule kPlateCurrent{.unit = "A", .low = 1e-6, .high = 1, .usual_high = kMostPlate_a};

NumberRule plate_rule(const DesignField& field) {
  NumberRule rule = rule_of(field);
  rule.usual_low = kLeastPlate_ohm;
  rule.usual_high = kMostPlate_ohm;
  return rule;
}

std::optional<Range> read_interval(const Cursor& cursor, const NumberRule& rule) {
  ObjectReader in(cursor);
  const auto from = in.required_number("from", "the lower end", rule);
  const auto to = in.required_number("to", "the upper end", rule);
  const auto step = in.number("step", {rule.unit, 0, rule.high > 0 ? rule.high : -rule.low, true});
  if (!from || !to || (in.find("step") && !step)) return std::nullopt;
  if (*from == *to) {
    cursor.error("is one value only; write it as a plain number");
    return std::nullopt;
  }
  if (*from > *to) {
    cursor.error("runs backwards, from " + exactly(*from, rule.unit) + " to " + exactly(*to, rule.unit));
    return std::nullopt;
  }
  if (step && *step > *to - *from) {
    in.error("step", "must be at most the width of the range, " + exactly(*to - *from, rule.unit) + ", is " +
                         exactly(*step, rule.unit));
    return std::nullopt;
  }
  if (step && (*to - *from) / *step > kMostSteps) {
    in.error("step", "makes more than " + exactly(kMostSteps, "1") + " steps");
    return std::nullopt;
  }
  return Range{*from, *to, step.value_or(0), {}};
}

std::optional<Range> read_values(const Cursor& cursor, const NumberRule& rule) {
  const auto items = cursor.items(1, kMostValues);
  if (!items) return std::nullopt;
  std::vector<double> values;
  for (const auto& item : *items) {
    const auto value = item.number(rule);
    if (!value) continue;
    if (std::find(values.begin(), values.end(), *value) != values.end())
      item.error("stands in the list twice: " + exactly(*value, rule.unit));
    values.push_back(*value);
  }
  if (values.size() != items->size()) return std::nullopt;
  std::sort(values.begin(), values.end());
  return Range{values.front(), values.back(), 0, values};
}

/// A sizing input (objectives/sizing_inputs.h) as a member of a brief's "variables".
struct Variable {
  SizingInput input;
  std::string_view description;
  NumberRule rule;
  std::optional<Range> fallback;  ///< empty: the brief has to say

  std::string_view name() const { return row_of(input).name; }
};

/// The defaults are wide enough for every working pair of the handbooks (common practice, no
/// published source): less than a twentieth of the supply across the tail spoils the balance, more
/// than two fifths leaves no swing; the second plate resistor is a little larger than the first.
std::array<Variable, 7> variables() {
  return {
      Variable{SizingInput::first_plate_ohm,
               "plate resistor of the first stage",
               plate_rule(member::first_stage_plate_ohm),
               {}},
      Variable{
          SizingInput::first_plate_current_a, "plate current of the first stage at rest", kPlateCurrent, {}},
      Variable{SizingInput::supply_v, "supply voltage", rule_of(member::supply_v), {}},
      Variable{SizingInput::tail_fraction,
               "share of the supply across the tail",
               {"1", 0, 1, true, true},
               Range{0.05, 0.4, 0, {}}},
      Variable{SizingInput::plate_current_a, "plate current of one section at rest", kPlateCurrent, {}},
      Variable{SizingInput::plate_ohm, "plate resistor of section 1", plate_rule(member::plate_ohm_0), {}},
      Variable{SizingInput::plate_ohm_ratio,
               "plate resistor 2 over plate resistor 1",
               {"1", 0.1, 10},
               Range{0.9, 1.5, 0, {}}},
  };
}

/// The forms that some of the circuits have, in the order of `of_all`.
template <class Form>
std::vector<Form> of_some(const std::vector<CircuitKind>& kinds, std::span<const Form> of_all,
                          std::span<const Form> CircuitEntry::*forms) {
  std::vector<Form> some;
  for (const Form form : of_all)
    if (std::any_of(kinds.begin(), kinds.end(), [&](CircuitKind kind) {
          const std::span<const Form> own = circuit(kind).*forms;
          return std::find(own.begin(), own.end(), form) != own.end();
        }))
      some.push_back(form);
  return some;
}

/// The forms of `what`, "bias" or "tail", that the brief leaves open, out of those that the circuits have;
/// none: it does not say. Forms of circuits that are left out are passed over.
template <class Form>
void read_forms(ObjectReader& in, std::string_view name, std::string_view what, std::span<const Form> of_all,
                std::span<const Form> CircuitEntry::*of_circuit, const DesignSpace& space,
                std::vector<Form>& forms) {
  forms.clear();
  const auto member = in.find(name);
  if (!member) return;
  std::vector<CircuitKind> meant = space.circuits;
  meant.insert(meant.end(), space.left_out.begin(), space.left_out.end());
  const std::vector<Form> allowed = of_some(meant, of_all, of_circuit),
                          here = of_some(space.circuits, of_all, of_circuit);
  if (allowed.empty()) return in.error(name, no_meaning_in(space.circuits));
  const auto items = member->items(1, of_all.size());
  if (!items) return;
  bool sound = true, for_all = true;
  const auto among = [](std::span<const Form> some, Form form) {
    return std::find(some.begin(), some.end(), form) != some.end();
  };
  std::vector<Form> seen;
  for (const auto& item : *items) {
    const auto form = read_form_name(item, what, std::span<const Form>(allowed), of_all, space.circuits);
    sound = sound && form;
    if (!form) continue;
    if (among(seen, *form)) item.error("stands in the list twice");
    seen.push_back(*form);
    if (among(here, *form)) forms.push_back(*form);
  }
  for (const CircuitKind kind : space.circuits) {
    const std::span<const Form> own = circuit(kind).*of_circuit;
    if (own.empty() || std::any_of(forms.begin(), forms.end(), [&](Form form) { return among(own, form); }))
      continue;
    for_all = false;
    if (sound)
      member->error("has none for a " + std::string(name_of(kind)) + " stage, which may have " +
                    one_of(names_of(own)));
  }
  if (!for_all) forms.clear();  // what is read after this asks for forms of every circuit
}

constexpr std::string_view kFirstPlateV = "first_plate_v";
constexpr NumberRule kPlateVoltRule{"V", 1, 2000};

std::string made_name(const DesignField& field) {
  const auto [first, second] = steps_of(field);
  if (second.empty()) return std::string(first);
  if (first == "bias" && field.unit == "V") return std::string(second);
  if (first == "first_stage")
    return second.starts_with("second_") ? std::string(second) : "first_" + std::string(second);
  const auto unit = first.rfind('_');
  if (second.size() == 1 && unit != first.npos)  // a place in a list, and people count from 1
    return std::string(first.substr(0, unit)) + "_" + static_cast<char>(second[0] + 1) +
           std::string(first.substr(unit));
  constexpr std::string_view kResistor = "resistor_";
  return std::string(first) + "_" +
         std::string(second.starts_with(kResistor) ? second.substr(kResistor.size()) : second);
}

bool may_have_own_range_somewhere(const DesignField& field) {
  return std::any_of(circuits().begin(), circuits().end(),
                     [&](const CircuitEntry& entry) { return may_have_own_range(entry.kind, field); });
}

void read_own_ranges(ObjectReader& in, DesignSpace& space) {
  for (const DesignField& field : design_fields()) {
    if (!may_have_own_range_somewhere(field)) continue;
    const std::string_view name = name_in_brief(field);
    const auto member = in.find(name);
    if (!member) continue;
    const auto may = [&](CircuitKind kind) { return may_have_own_range(kind, field); };
    if (!space.some_circuit(may)) {
      if (!space.some_left_out(may)) in.error(name, no_meaning_in(space.circuits));
      continue;
    }
    NumberRule rule = rule_of(field);
    rule.above_low = rule.low == 0;  // of a part, 0 says that there is none
    if (auto range = read_range(*member, rule)) space.own_ranges.push_back({&field, std::move(*range)});
  }
}

/// What is wrong with a part's own range by itself, in a space with one circuit; empty: nothing.
std::string own_range_fault(const DesignSpace::OwnRange& own, const DesignSpace& space) {
  const DesignField& field = *own.part;
  Design design = given_in(space);
  design.bias.form = space.bias_forms.front();
  design.tail.form = space.tail_forms.front();
  design.driver.form = space.driver_forms.back();
  design.first_stage.form = space.gain_forms.back();
  if (!may_have_own_range(space.circuit(), field)) return no_meaning_in(space.circuit());
  if (field.at == member::feedback_resistor_ohm.at && !space.given.feedback.given)
    return "has no meaning without feedback";
  if (!applies_somewhere(field, space)) return why_not_applicable(field, design);
  if (own.range.fixed()) return "";
  if (field.role == FieldRole::capacitor && !space.low_frequency_hz)
    return "has nothing to choose it by: give low_frequency_hz, or one value";
  if (own_levels(space, own.range, field, design).empty())
    return "has nothing in it: " + std::string(space.on_hand ? "no part on hand" : "no standard value") +
           " from " + exactly(own.range.low, field.unit) + " to " + exactly(own.range.high, field.unit);
  for (const PartlyBypassed& resistor : partly_bypassed(circuit_of(design)))
    if (resistor.whole == &field && resistor.part && own.range.low <= resistor.part->value(design) &&
        resistor.part->value(design) > 0)
      return "must be above its unbypassed part, " + exactly(resistor.part->value(design), "ohm") +
             ", since it is the whole";
  return "";
}

/// The same where there may be several circuits: a part that one of them can have is no fault. Told is what
/// is wrong in the first that may have it.
std::string own_range_fault_everywhere(const DesignSpace::OwnRange& own, const DesignSpace& space) {
  std::string first;
  for (const CircuitKind kind : space.circuits) {
    if (space.circuits.size() > 1 && !may_have_own_range(kind, *own.part)) continue;
    std::string fault = own_range_fault(own, space_of(space, kind));
    if (fault.empty()) return "";
    if (first.empty()) first = std::move(fault);
  }
  return first;
}

std::string_view unit_of(SizingInput input) {
  for (const Variable& v : variables())
    if (v.input == input) return v.rule.unit;
  return "1";
}

std::string range_words(const Range& range, std::string_view unit) {
  if (range.fixed()) return exactly(range.low, unit);
  return exactly(range.low, unit) + " to " + exactly(range.high, unit);
}

/// "but supply_v 300 V and plate_current_a 2 mA to 3 mA lead to 5 kΩ to 15 kΩ".
std::string over_determined_words(const OverDetermined& clash, const DesignSpace& space) {
  std::vector<std::string> by;
  for (const SizingInput input : clash.by)
    by.push_back(std::string(row_of(input).name) + " " +
                 range_words(space.*row_of(input).range, unit_of(input)));
  constexpr int kDigits = 3;
  const std::string low = engineering_text(clash.low, clash.part->unit, kDigits),
                    high = engineering_text(clash.high, clash.part->unit, kDigits);
  return "does not go together with the others: " + all_of(by) + (by.size() == 1 ? " leads" : " lead") +
         " to " + (low == high ? low : low + " to " + high) + ", not to " +
         range_words(*space.own_range(*clash.part), clash.part->unit) + "; widen one of them, or leave " +
         std::string(name_in_brief(*clash.part)) + " out";
}

}  // namespace

std::string_view name_in_brief(const DesignField& field) {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> all;
    for (const DesignField& f : design_fields()) all.push_back(made_name(f));
    return all;
  }();
  return names[static_cast<std::size_t>(&field - design_fields().data())];
}

const DesignField* own_variable_named(std::string_view name) {
  for (const DesignField& field : design_fields())
    if (name_in_brief(field) == name && may_have_own_range_somewhere(field)) return &field;
  return nullptr;
}

void check_own_ranges(const Cursor& variables, const DesignSpace& space) {
  if (variables.kind() != JsonKind::object) return;
  const bool chain = space.some_circuit([](CircuitKind kind) { return has_first_stage(kind); });
  bool sound = !space.tubes.empty() && (!chain || !space.first_tubes.empty());
  const auto tell = [&](const DesignField& part, std::string what) {
    if (const auto member = variables.member(name_in_brief(part))) member->error(std::move(what));
    sound = false;
  };
  for (const DesignSpace::OwnRange& own : space.own_ranges)
    if (std::string fault = own_range_fault_everywhere(own, space); !fault.empty())
      tell(*own.part, std::move(fault));
  for (const SizingInputRow& row : kSizingInputRows) {  // one that is missing or wrong has been told
    const auto has = [&](CircuitKind kind) { return has_sizing_input(kind, row.input); };
    sound = sound && (!space.some_circuit(has) || (space.*row.range).low > 0);
  }
  if (!sound || space.own_ranges.empty()) return;
  // Of a circuit, tube or form that has another choice the search says why it is left out.
  std::optional<OverDetermined> first;
  for (const Design& base : bases_of(space)) {
    auto clash = over_determined(space_of(space, base.circuit), base);
    if (!clash) return;
    if (!first) first = std::move(clash);
  }
  if (first) tell(*first->part, over_determined_words(*first, space));
}

bool has_variable(CircuitKind kind, std::string_view name) {
  if (name == kFirstPlateV) return has_first_stage(kind);
  if (const DesignField* part = own_variable_named(name)) return may_have_own_range(kind, *part);
  if (name == "bias_form") return !circuit(kind).bias_forms.empty();
  if (name == "tail_form") return !circuit(kind).tail_forms.empty();
  const SizingInputRow* row = sizing_input_named(name);
  return row && has_sizing_input(kind, row->input);
}

std::vector<std::string_view> variable_names() {
  std::vector<std::string_view> names;
  for (const Variable& v : variables()) names.push_back(v.name());
  return names;
}

bool needs_variable(CircuitKind kind, std::string_view name) {
  const auto all = variables();
  return has_variable(kind, name) && std::any_of(all.begin(), all.end(), [&](const Variable& v) {
           return v.name() == name && !v.fallback;
         });
}

std::optional<Range> read_range(const Cursor& cursor, const NumberRule& rule) {
  if (cursor.kind() == JsonKind::object) return read_interval(cursor, rule);
  if (cursor.kind() == JsonKind::list) return read_values(cursor, rule);
  const auto value = cursor.number(rule);
  if (!value) return std::nullopt;
  return Range{*value, *value, 0, {}};
}

void read_variables(const Cursor& cursor, DesignSpace& space) {
  ObjectReader in(cursor);
  for (const auto& v : variables()) {
    const auto has = [&](CircuitKind kind) { return has_sizing_input(kind, v.input); };
    if (!space.some_circuit(has)) {
      if (in.find(v.name()) && !space.some_left_out(has)) in.error(v.name(), no_meaning_in(space.circuits));
      continue;
    }
    const auto member =
        v.fallback ? in.find(v.name())
                   : in.require(v.name(), std::string(v.description) + for_which(space.circuits, has));
    const auto range = member ? read_range(*member, v.rule) : v.fallback;
    if (range) space.*row_of(v.input).range = *range;
  }
  read_own_ranges(in, space);
  if (const auto member = in.find(kFirstPlateV)) {
    const auto has = [](CircuitKind kind) { return has_first_stage(kind); };
    if (space.some_circuit(has))
      space.first_plate_v = read_range(*member, kPlateVoltRule);
    else if (!space.some_left_out(has))
      in.error(kFirstPlateV, no_meaning_in(space.circuits));
  }
  read_forms<BiasForm>(in, "bias_form", "bias", kBiasForms, &CircuitEntry::bias_forms, space,
                       space.bias_forms);
  read_forms<TailForm>(in, "tail_form", "tail", kTailForms, &CircuitEntry::tail_forms, space,
                       space.tail_forms);
}

}  // namespace antiphase
