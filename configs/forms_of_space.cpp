#include "configs/forms_of_space.h"

#include "configs/design_members.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {

bool applies_somewhere(const DesignField& field, const DesignSpace& space) {
  return in_some_form(space, space.given, [&](Design d) {
    for (const PartlyBypassed& resistor : partly_bypassed(circuit_of(d)))
      if (resistor.whole) resistor.whole->at(d) = 2 * resistor.whole->high;  // some of it is bypassed
    return field.applies(d);
  });
}

std::string why_nowhere(const DesignField& field, const DesignSpace& space) {
  for (const CircuitKind kind : space.circuits) {
    if (space.circuits.size() > 1 && !has_member(kind, field)) continue;
    const std::vector<BiasForm> bias = bias_forms_of(space, kind);
    const std::vector<TailForm> tail = tail_forms_of(space, kind);
    Design design = space.given;
    design.circuit = kind;
    if (!bias.empty()) design.bias.form = bias.front();
    if (!tail.empty()) design.tail.form = tail.front();
    return why_not_applicable(field, design);
  }
  return no_meaning_in(space.circuits);
}

}  // namespace antiphase
