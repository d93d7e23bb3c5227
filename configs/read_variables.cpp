#include "configs/read_variables.h"

#include <algorithm>
#include <cmath>

#include "configs/choices.h"
#include "configs/design_members.h"
#include "configs/quantity_text.h"
#include "configs/wording.h"

namespace antiphase {
namespace {

constexpr double kMostSteps = 10'000;  // more is a slip of the decimal point
constexpr std::size_t kMostValues = 1000;

std::optional<Range> read_interval(const Cursor& cursor, const NumberRule& rule) {
  ObjectReader in(cursor);
  const auto from = in.required_number("from", "the lower end", rule);
  const auto to = in.required_number("to", "the upper end", rule);
  const auto step = in.number("step", {rule.unit, 0, rule.high, true});
  if (!from || !to || (in.find("step") && !step)) return std::nullopt;
  if (*from == *to) {
    cursor.fault("is one value only; write it as a plain number");
    return std::nullopt;
  }
  if (*from > *to) {
    cursor.fault("runs backwards, from " + exactly(*from, rule.unit) + " to " + exactly(*to, rule.unit));
    return std::nullopt;
  }
  if (step && *step > *to - *from) {
    in.fault("step", "must be at most the width of the range, " + exactly(*to - *from, rule.unit) + ", is " +
                         exactly(*step, rule.unit));
    return std::nullopt;
  }
  if (step && (*to - *from) / *step > kMostSteps) {
    in.fault("step", "makes more than " + exactly(kMostSteps, "1") + " steps");
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
      item.fault("stands in the list twice: " + exactly(*value, rule.unit));
    values.push_back(*value);
  }
  if (values.size() != items->size()) return std::nullopt;
  std::sort(values.begin(), values.end());
  return Range{values.front(), values.back(), 0, values};
}

struct Variable {
  std::string_view name, says;
  NumberRule rule;
  bool pair_only;
  Range DesignSpace::*member;
  std::optional<Range> fallback;  ///< empty: the brief has to say
  bool chain_only = false;
};

/// The defaults are wide enough for every working pair of the handbooks (common practice, no
/// published source): less than a twentieth of the supply across the tail spoils the balance, more
/// than two fifths leaves no swing; the second plate resistor is a little larger than the first.
std::array<Variable, 7> variables() {
  return {
      Variable{"first_plate_ohm",
               "plate resistor of the first stage",
               rule_of(*find_design_field("/first_stage/plate_ohm")),
               true,
               &DesignSpace::first_plate_ohm,
               {},
               true},
      Variable{"first_plate_current_a",
               "plate current of the first stage at rest",
               {"A", 1e-6, 1},
               true,
               &DesignSpace::first_plate_current_a,
               {},
               true},
      Variable{"supply_v",
               "supply voltage",
               rule_of(*find_design_field("/supply_v")),
               false,
               &DesignSpace::supply_v,
               {}},
      Variable{"tail_fraction",
               "share of the supply across the tail",
               {"1", 0, 1, true, true},
               true,
               &DesignSpace::tail_fraction,
               Range{0.05, 0.4, 0, {}}},
      Variable{"plate_current_a",
               "plate current of one section at rest",
               {"A", 1e-6, 1},
               false,
               &DesignSpace::plate_current_a,
               {}},
      Variable{"plate_ohm",
               "plate resistor of section 1",
               rule_of(*find_design_field("/plate_ohm/0")),
               false,
               &DesignSpace::plate_ohm,
               {}},
      Variable{"plate_ohm_ratio",
               "plate resistor 2 over plate resistor 1",
               {"1", 0.1, 10},
               true,
               &DesignSpace::plate_ohm_ratio,
               Range{0.9, 1.5, 0, {}}},
  };
}

template <class Enum, std::size_t N>
void read_forms(ObjectReader& in, std::string_view name, const std::array<Enum, N>& choices,
                std::vector<Enum>& forms) {
  const auto member = in.find(name);
  if (!member) return;
  const auto items = member->items(1, N);
  if (!items) return;
  forms.clear();
  for (const auto& item : *items) {
    const auto index = item.choice(names_of(choices));
    if (!index) continue;
    if (std::find(forms.begin(), forms.end(), choices[*index]) != forms.end())
      item.fault("stands in the list twice");
    forms.push_back(choices[*index]);
  }
}

}  // namespace

std::optional<Range> read_range(const Cursor& cursor, const NumberRule& rule) {
  if (cursor.kind() == JsonKind::object) return read_interval(cursor, rule);
  if (cursor.kind() == JsonKind::list) return read_values(cursor, rule);
  const auto value = cursor.number(rule);
  if (!value) return std::nullopt;
  return Range{*value, *value, 0, {}};
}

void read_variables(const Cursor& cursor, DesignSpace& space) {
  ObjectReader in(cursor);
  const bool pair = sections(space.circuit) == 2;
  space.bias_forms = {BiasForm::self_biased};
  space.tail_forms = {TailForm::resistor};
  const auto no_meaning = "has no meaning in a " + std::string(name_of(space.circuit)) + " stage";
  for (const auto& v : variables()) {
    if ((v.pair_only && !pair) || (v.chain_only && !has_first_stage(space.given))) {
      if (in.find(v.name)) in.fault(v.name, no_meaning);
      continue;
    }
    const auto member = v.fallback ? in.find(v.name) : in.require(v.name, v.says);
    const auto range = member ? read_range(*member, v.rule) : v.fallback;
    if (range) space.*v.member = *range;
  }
  if (pair) {
    read_forms(in, "bias_form", kBiasForms, space.bias_forms);
    read_forms(in, "tail_form", kTailForms, space.tail_forms);
  } else {
    for (const auto name : {"bias_form", "tail_form"})
      if (in.find(name)) in.fault(name, no_meaning);
  }
}

}  // namespace antiphase
