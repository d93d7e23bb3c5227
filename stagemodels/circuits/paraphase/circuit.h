/// Two sections that amplify one after the other: section 1 the input, section 2 what a divider leaves of
/// output 1. One cathode resistor serves both, since their signal currents are opposite; how much of it has a
/// capacitor is a design's choice, as with a gain stage.
#pragma once

#include "stagemodels/circuits/blocks.h"

namespace antiphase::paraphase {

/// The sections from the driven grid on, up to both outputs. `turned`: a stage ahead turns the phase once
/// more. @return grid 2, which nothing drives yet.
constexpr Node sections(Circuit& c, Node supply, Node grid_1, bool turned) {
  const Node p1 = c.node("P1"), p2 = c.node("P2"), k = c.node("K"), g2 = c.node("G2");
  c.triode("section_1", "section 1", p1, grid_1, k, 0);
  c.triode("section_2", "section 2", p2, g2, k, 1);
  c.resistor(Role::plate_load, "plate_resistor_1", "plate resistor 1", supply, p1, member::plate_ohm_0);
  c.resistor(Role::plate_load, "plate_resistor_2", "plate resistor 2", supply, p2, member::plate_ohm_1);
  block::cathode_resistor(c, k);
  c.resistor(Role::grid_leak, "grid_leak_1", "grid leak 1", grid_1, kGround, member::grid_leak_ohm);
  block::output(c, {}, 0, p1, turned ? 1 : -1);  // no driver: the divider hangs on the output
  block::output(c, {}, 1, p2, turned ? -1 : 1);
  return g2;
}

/// From output 1 to grid 2 and on to ground. It hangs behind the output's capacitor, so that grid 2 rests at
/// ground.
constexpr void divider(Circuit& c, Node grid_2) {
  c.resistor(Role::divider, "divider_resistor", "resistor from output 1 to grid 2", c.output[0].node, grid_2,
             member::divider_ohm);
  c.resistor(Role::divider, "divider_foot", "resistor from grid 2 to ground", grid_2, kGround,
             member::divider_foot_ohm);
}

/// The splitter from its grid on.
constexpr void from_grid(Circuit& c, const Form&, Node supply, Node grid_1, bool turned) {
  divider(c, sections(c, supply, grid_1, turned));
}

constexpr Circuit circuit(const Form& form) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c);
  from_grid(c, form, supply, block::coupled_source(c), false);
  return c;
}

}  // namespace antiphase::paraphase
