#include "objectives/design_space.h"

#include "objectives/part_levels.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

template <class Form>
std::vector<Form> open_forms(const std::vector<Form>& asked, std::span<const Form> of_circuit) {
  if (of_circuit.empty()) return {Form{}};
  if (asked.empty()) return {of_circuit.front()};
  std::vector<Form> both = asked;
  std::erase_if(both, [&](Form form) {
    return std::find(of_circuit.begin(), of_circuit.end(), form) == of_circuit.end();
  });
  return both;
}

/// What a brief gives, without what the circuit does not have.
Design given_of(const DesignSpace& space, CircuitKind kind) {
  const Design nothing{};
  Design given = space.given;
  given.circuit = kind;
  for (const DesignField& field : design_fields())
    if (!has_member(kind, field)) field.at(given) = field.value(nothing);
  if (!has_role(kind, Role::grid_clamp)) given.bias.grid_clamp = false;
  if (!has_role(kind, Role::feedback)) given.feedback = Feedback{};
  return given;
}

}  // namespace

std::vector<BiasForm> bias_forms_of(const DesignSpace& space, CircuitKind kind) {
  return open_forms(space.bias_forms, circuit(kind).bias_forms);
}
std::vector<TailForm> tail_forms_of(const DesignSpace& space, CircuitKind kind) {
  return open_forms(space.tail_forms, circuit(kind).tail_forms);
}

std::vector<DriverForm> driver_forms_of(const DesignSpace& space, CircuitKind kind) {
  return open_forms(space.driver_forms, driver_forms(kind));
}

std::vector<GainForm> gain_forms_of(const DesignSpace& space, CircuitKind kind) {
  return open_forms(space.gain_forms, gain_forms(kind));
}

std::vector<Compared> compared_in(const DesignSpace& space) {
  std::vector<Compared> all;
  for (const CircuitKind kind : space.circuits)
    for (const GainForm gain : gain_forms_of(space, kind))
      for (const DriverForm driver : driver_forms_of(space, kind)) all.push_back({kind, gain, driver});
  return all;
}

DesignSpace space_of(const DesignSpace& all, CircuitKind kind) {
  DesignSpace space = all;
  space.circuits = {kind};
  space.given = given_of(all, kind);
  space.bias_forms = bias_forms_of(all, kind);
  space.tail_forms = tail_forms_of(all, kind);
  space.driver_forms = driver_forms_of(all, kind);
  space.gain_forms = gain_forms_of(all, kind);
  if (!has_first_stage(kind)) {
    space.first_tubes.clear();
    space.second_tubes.clear();
    space.first_plate_v.reset();
  }
  std::erase_if(space.own_ranges,
                [&](const DesignSpace::OwnRange& own) { return !may_have_own_range(kind, *own.part); });
  space.plate_2_of_two = all.plate_2_of_two && plate_resistors(kind) == 2;
  return space;
}

}  // namespace antiphase
