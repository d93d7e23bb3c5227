#include "configs/read_variables.h"

#include <algorithm>
#include <cmath>

#include "configs/choices.h"
#include "configs/design_members.h"
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
  const auto step = in.number("step", {rule.unit, 0, rule.high, true});
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

/// The forms of `what`, "bias" or "tail", that the brief leaves open, out of those that the circuit has.
template <class Form>
void read_forms(ObjectReader& in, std::string_view name, std::string_view what,
                std::span<const Form> of_circuit, std::span<const Form> of_all, CircuitKind kind,
                std::vector<Form>& forms) {
  const Form left_out = of_circuit.empty() ? Form{} : of_circuit.front();
  forms = {left_out};
  const auto member = in.find(name);
  if (!member) return;
  if (of_circuit.empty()) return in.error(name, no_meaning_in(kind));
  const auto items = member->items(1, of_all.size());
  if (!items) return;
  forms.clear();
  for (const auto& item : *items) {
    const auto form = read_form_name(item, what, of_circuit, of_all, kind);
    if (!form) continue;
    if (std::find(forms.begin(), forms.end(), *form) != forms.end()) item.error("stands in the list twice");
    forms.push_back(*form);
  }
  if (forms.empty()) forms = {left_out};  // all are wrong, and what is read after this asks for a form
}

}  // namespace

bool has_variable(CircuitKind kind, std::string_view name) {
  if (name == "bias_form") return !circuit(kind).bias_forms.empty();
  if (name == "tail_form") return !circuit(kind).tail_forms.empty();
  const SizingInputRow* row = sizing_input_named(name);
  return row && has_sizing_input(kind, row->input);
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
    if (!has_sizing_input(space.circuit, v.input)) {
      if (in.find(v.name())) in.error(v.name(), no_meaning_in(space.circuit));
      continue;
    }
    const auto member = v.fallback ? in.find(v.name()) : in.require(v.name(), v.description);
    const auto range = member ? read_range(*member, v.rule) : v.fallback;
    if (range) space.*row_of(v.input).range = *range;
  }
  const CircuitEntry& entry = circuit(space.circuit);
  read_forms<BiasForm>(in, "bias_form", "bias", entry.bias_forms, kBiasForms, space.circuit,
                       space.bias_forms);
  read_forms<TailForm>(in, "tail_form", "tail", entry.tail_forms, kTailForms, space.circuit,
                       space.tail_forms);
}

}  // namespace antiphase
