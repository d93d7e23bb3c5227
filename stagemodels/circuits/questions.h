/// What readers and writers of designs ask of a circuit. Every answer is read off its lists of elements, so
/// that a new circuit is answered for as soon as its list is there.
#pragma once

#include <array>

#include "stagemodels/circuits/catalogue.h"

namespace antiphase {

/// What may stand behind the circuit: of one with two outputs a driver, unless a divider hangs on them.
std::span<const DriverForm> driver_forms(CircuitKind);

/// What the stage ahead of the splitter may be made of; of circuits without one, a triode by name only.
std::span<const GainForm> gain_forms(CircuitKind);

/// Calls `each(design, list)` for every form that designs of the circuit choose from, first without a driver,
/// behind a triode and without overall feedback, then with; the design has the circuit and the forms and no
/// values.
template <class Each>
void for_each_form(CircuitKind kind, Each each) {
  const CircuitEntry& entry = circuit(kind);
  const std::array<BiasForm, 1> bias_not_chosen{};
  const std::array<TailForm, 1> tail_not_chosen{};
  const std::span<const BiasForm> biases = entry.bias_forms.empty() ? bias_not_chosen : entry.bias_forms;
  const std::span<const TailForm> tails = entry.tail_forms.empty() ? tail_not_chosen : entry.tail_forms;
  Design design;
  design.circuit = kind;
  for (const DriverForm driver : driver_forms(kind))
    for (const GainForm gain : gain_forms(kind))
      for (const bool feedback : {false, true})
        for (const BiasForm bias : biases)
          for (const TailForm tail : tails) {
            design.driver.form = driver;
            design.first_stage.form = gain;
            design.bias.form = bias;
            design.tail.form = tail;
            design.feedback.given = feedback;
            each(static_cast<const Design&>(design), circuit_of(design));
          }
}

/// True if the list has an element with this role, whether the design's values let it stand or not.
bool has_role(const Circuit& list, Role role);
inline bool has_role(const Design& design, Role role) {
  return has_role(circuit_of(design), role);
}
/// True if some form of the circuit has an element with this role.
bool has_role(CircuitKind kind, Role role);

/// True if the list names the member, whether the design's values let its element stand or not.
bool names_member(const Circuit& list, const DesignField& field);
/// True if some form of the circuit names the member.
bool has_member(CircuitKind kind, const DesignField& field);
/// True if every design of the circuit has the member, whatever its forms and values.
bool always_has_member(CircuitKind kind, const DesignField& field);

/// True if resistors lead from an output to a grid of the stage itself. An output valve behind it then needs
/// its grid at ground: a bias that comes through its leak would drive current through these resistors, lose
/// a share of itself there, and pull the stage's own grid down.
inline bool needs_next_grid_at_ground(CircuitKind kind) {
  return has_role(kind, Role::divider);
}

/// Numbers that the member plate_ohm of a file has: 1 or 2.
int plate_resistors(CircuitKind kind);

/// What the design's circuit calls the part: the member's own label, or, where one section's current runs
/// through a load in its plate and another in its cathode, those of the two elements.
std::string_view label_in(const Design&, const DesignField&);

/// True if the grids' leaks end at a node of their own in some form of the circuit, not at ground.
bool leaks_off_ground(CircuitKind kind);

/// A cathode resistor of which a part has no capacitor across it. The part is at most the whole.
struct PartlyBypassed {
  const DesignField *part = nullptr, *whole = nullptr;
};
/// Those of a circuit; unused places are null.
std::array<PartlyBypassed, Circuit::kMostSections> partly_bypassed(const Circuit& list);

/// The member of the resistor at whose upper end overall feedback comes in, which must be above 0 then;
/// null: the list has no feedback.
const DesignField* feedback_comes_in_at(const Circuit& list);

}  // namespace antiphase
