/// The long-tailed pair: two sections with one cathode node, fed at grid 1; grid 2 stands still.
#pragma once

#include "stagemodels/circuits/blocks.h"

namespace antiphase::pair {

constexpr bool clamped(const Design& d) {
  return d.bias.form == BiasForm::direct_coupled && d.bias.grid_clamp;
}

/// The pair from its grids on. `turned`: a stage ahead turns the phase once more.
constexpr void from_grid(Circuit& c, const Form& form, Node supply, Node grid_1, bool turned) {
  const bool self = form.bias == BiasForm::self_biased, direct = form.bias == BiasForm::direct_coupled;
  const Node p1 = c.node("P1"), p2 = c.node("P2"), k = c.node("K"), g2 = c.node("G2");
  const Node top = self ? c.node("TAIL") : k;
  const Node foot = form.bias == BiasForm::negative_rail ? c.node("RAIL") : kGround;
  if (foot != kGround) c.held(Role::rail, "rail", "negative rail", foot, member::bias_rail_v);

  c.triode("section_1", "section 1", p1, grid_1, k, 0);
  c.triode("section_2", "section 2", p2, g2, k, 1);
  c.resistor(Role::plate_load, "plate_resistor_1", "plate resistor 1", supply, p1, member::plate_ohm_0);
  c.resistor(Role::plate_load, "plate_resistor_2", "plate resistor 2", supply, p2, member::plate_ohm_1);
  if (self) c.resistor(Role::bias, "bias_resistor", "bias resistor", k, top, member::bias_ohm);
  if (form.tail == TailForm::resistor) {
    c.resistor(Role::tail, "tail", "tail resistor", top, foot, member::tail_ohm);
  } else {
    c.sink(Role::tail, "tail", "tail sink", top, foot, member::tail_current_a);
    c.resistor(Role::tail, "sink_resistance", "resistance across the sink", top, foot,
               member::tail_output_ohm);
    c.uses(member::tail_compliance_v);
  }
  c.tail_top = top;
  c.tail_foot = foot;

  // A directly coupled grid 1 is held by the plate before it, and the leak of grid 2 hangs on it.
  const Node leak_end = self ? top : direct ? grid_1 : kGround;
  if (!direct)
    c.resistor(Role::grid_leak, "grid_leak_1", "grid leak 1", grid_1, leak_end, member::grid_leak_ohm);
  c.resistor(Role::grid_leak, "grid_leak_2", "grid leak 2", g2, leak_end, member::grid_leak_ohm);
  // What is told as the foot of the grids: of a pair that a given voltage holds, that voltage.
  c.leak_foot = direct && !turned ? c.input : leak_end;
  c.capacitor(Role::grid_bypass, "grid_2_bypass", "grid 2 bypass", g2, kGround, member::grid_bypass_f);
  if (direct) {
    c.clamp("grid_clamp_1", "clamp diode 1", grid_1, k, clamped);
    c.clamp("grid_clamp_2", "clamp diode 2", g2, k, clamped);
  }
  block::output(c, form, 0, p1, turned ? 1 : -1);
  block::output(c, form, 1, p2, turned ? -1 : 1);
}

constexpr Circuit circuit(const Form& form) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c);
  const bool direct = form.bias == BiasForm::direct_coupled;
  const Node grid_1 = direct ? block::source(c, &member::bias_grid_v) : block::coupled_source(c);
  from_grid(c, form, supply, grid_1, false);
  return c;
}

}  // namespace antiphase::pair
