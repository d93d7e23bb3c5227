/// The common-cathode stage: one section, a plate resistor, a cathode resistor that is bypassed wholly,
/// partly or not at all.
#pragma once

#include "stagemodels/circuits/blocks.h"

namespace antiphase::gain_stage {

constexpr Circuit circuit(const Form&) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c), grid = block::coupled_source(c);
  const Node p = c.node("P1"), k = c.node("K");
  c.triode("section_1", "section 1", p, grid, k, 0);
  c.resistor(Role::plate_load, "plate_resistor_1", "plate resistor", supply, p, member::plate_ohm_0);
  block::cathode_resistor(c, k);
  c.resistor(Role::grid_leak, "grid_leak_1", "grid leak", grid, kGround, member::grid_leak_ohm);
  block::output(c, {}, 0, p, -1);
  return c;
}

}  // namespace antiphase::gain_stage
