/// A gain stage ahead of a splitter, and the two as one circuit: through a capacitor, or directly, so that
/// the first plate holds the splitter's grid. A splitter that says what it is from its grid on gets its chain
/// by this.
#pragma once

#include "stagemodels/circuits/blocks.h"
#include "stagemodels/circuits/first_stage/above_the_plate.h"
#include "stagemodels/circuits/places.h"

namespace antiphase::first_stage {

constexpr double bypassed_ohm(const Design& d) {
  return d.first_stage.cathode_ohm - d.first_stage.cathode_unbypassed_ohm;
}
constexpr bool bypassed(const Design& d) {
  return d.first_stage.cathode_unbypassed_ohm < d.first_stage.cathode_ohm;
}

constexpr bool decoupled(const Design& d) {
  return d.first_stage.decoupling_ohm > 0;
}

/// The supply of the first stage: the splitter's, behind a resistor and a capacitor where the design has
/// them. @return its node.
constexpr Node own_supply(Circuit& c, Node supply) {
  const Node own = c.node("B0");
  c.resistor(Role::decoupling, "decoupling_resistor", "decoupling resistor", supply, own,
             member::first_stage_decoupling_ohm);
  c.capacitor(Role::decoupling_capacitor, "decoupling_capacitor", "decoupling capacitor", own, kGround,
              member::first_stage_decoupling_f)
      .when = decoupled;
  return own;
}

/// Overall feedback, to the upper end of the bare part of the first cathode resistor.
constexpr void feedback(Circuit& c, Node bare_top) {
  c.feedback = c.node("LOAD");
  c.resistor(Role::feedback, "feedback_resistor", "feedback resistor", c.feedback, bare_top,
             member::feedback_resistor_ohm);
  c.stray(Role::feedback_lead, "feedback_lead", "phase lead capacitor", c.feedback, bare_top,
          member::feedback_lead_f);
  for (const DesignField* m :
       {&member::feedback_wanted_db, &member::feedback_source_v_rms, &member::feedback_output_gain,
        &member::feedback_output_impedance_ohm, &member::feedback_load_ohm, &member::feedback_low_hz,
        &member::feedback_high_hz, &member::feedback_least_gain_margin_db,
        &member::feedback_least_phase_margin_deg})
    c.uses(*m);
}

/// The gain stage from the source on. @return where it gives out.
constexpr Node up_to_output(Circuit& c, const Form& form, Node supply) {
  const Node first = own_supply(c, supply), grid = block::coupled_source(c);
  const Node p = c.node("P0"), k = c.node("K0");
  const Node screen = form.gain == GainForm::pentode ? c.node("S0") : kNoNode;
  c.triode("first_section", "first section", p, grid, k, kFirstStage).screen = screen;
  c.first_supply = first;
  c.first_output = above_the_plate(c, form.gain, first, p, screen);
  const Node bare_top = block::cathode_of_gain_stage(
      c, k,
      {"first_cathode_resistor", "first stage's cathode resistor", "first_cathode_resistor_unbypassed",
       "unbypassed part of the first cathode resistor", "first_cathode_bypass",
       "first stage's cathode bypass", "FOOT0", member::first_stage_cathode_ohm,
       member::first_stage_cathode_unbypassed_ohm, member::first_stage_cathode_bypass_f, bypassed_ohm,
       bypassed},
      form.feedback);
  c.resistor(Role::grid_leak, "first_grid_leak", "first stage's grid leak", grid, kGround,
             member::first_stage_grid_leak_ohm);
  if (form.feedback) feedback(c, bare_top);
  return c.first_output;
}

/// A splitter from its driven grid on. `turned`: a stage ahead turns the phase once more.
using FromGrid = void (*)(Circuit&, const Form&, Node supply, Node grid, bool turned);

/// The gain stage and the splitter that it drives; `direct`: what it gives out holds the splitter's grid.
constexpr Circuit followed_by(FromGrid splitter, const Form& form, bool direct) {
  Circuit c;
  block::ground(c);
  const Node supply = block::supply(c), out = up_to_output(c, form, supply);
  Node grid = out;
  if (!direct) {
    grid = c.node("G1");
    c.capacitor(Role::coupling_between, "capacitor_between_stages", "capacitor between the stages", out, grid,
                member::first_stage_coupling_f);
  }
  splitter(c, form, supply, grid, form.gain != GainForm::two_triodes);
  return c;
}

}  // namespace antiphase::first_stage
