/// The paraphase that balances itself: grid 2 hangs on the node where resistors from both outputs meet, so
/// that section 2 takes back what it gives too much.
#pragma once

#include "stagemodels/circuits/paraphase/circuit.h"

namespace antiphase::floating_paraphase {

/// The splitter from its grid on. `turned`: a stage ahead turns the phase once more.
constexpr void from_grid(Circuit& c, const Form&, Node supply, Node grid_1, bool turned) {
  const Node grid_2 = paraphase::sections(c, supply, grid_1, turned);
  paraphase::divider(c, grid_2);
  c.resistor(Role::divider, "balancing_resistor", "resistor from output 2 to grid 2", c.output[1].node,
             grid_2, member::balancing_ohm);
}

constexpr Circuit circuit(const Form& form) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c);
  from_grid(c, form, supply, block::coupled_source(c), false);
  return c;
}

}  // namespace antiphase::floating_paraphase
