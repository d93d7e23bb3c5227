/// The split-load splitter: one section whose current runs through equal resistors in its plate and its
/// cathode. Output 1 is taken at the plate, output 2 at the upper end of the cathode load: the two signals
/// are as equal as the two resistors, which are two members of a design, and the two loads.
#pragma once

#include "stagemodels/circuits/blocks.h"

namespace antiphase::split_load {

constexpr bool clamped(const Design& d) {
  return d.bias.grid_clamp;
}

/// The splitter from its grid on. `turned`: a stage ahead turns the phase once more.
constexpr void from_grid(Circuit& c, const Form& form, Node supply, Node grid, bool turned) {
  const bool direct = form.bias == BiasForm::direct_coupled;
  const Node p = c.node("P1"), k = c.node("K"), top = direct ? k : c.node("LOAD2");

  c.triode("section_1", "section 1", p, grid, k, 0);
  c.resistor(Role::plate_load, "plate_resistor_1", "plate load", supply, p, member::plate_ohm_0);
  if (!direct) c.resistor(Role::bias, "bias_resistor", "bias resistor", k, top, member::bias_ohm);
  c.resistor(Role::cathode_load, "cathode_load", "cathode load", top, kGround, member::plate_ohm_1);
  c.tail_top = top;
  // The plate of the stage before holds a directly coupled grid; otherwise its leak rides on the cathode
  // load.
  c.leak_foot = direct ? grid : top;
  if (direct)
    c.clamp("grid_clamp_1", "clamp diode", grid, k, clamped);
  else
    c.resistor(Role::grid_leak, "grid_leak_1", "grid leak", grid, top, member::grid_leak_ohm);
  block::output(c, form, 0, p, turned ? 1 : -1);
  block::output(c, form, 1, top, turned ? -1 : 1);
}

constexpr Circuit circuit(const Form& form) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c);
  const bool direct = form.bias == BiasForm::direct_coupled;
  from_grid(c, form, supply, direct ? block::source(c, &member::bias_grid_v) : block::coupled_source(c),
            false);
  return c;
}

}  // namespace antiphase::split_load
