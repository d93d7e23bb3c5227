/// What stands above the plate of a gain stage's first section, by the form of the stage: a resistor, with a
/// pentode what feeds its screen, a constant current, or a second triode and what belongs to it. Sources of
/// the forms: Valley and Wallman, Vacuum Tube Amplifiers (1948), section 11.10 (cascode) and 11.9 (triodes in
/// series); Langford-Smith, Radiotron Designer's Handbook (1953), chapter 12 (stages in cascade).
#pragma once

#include "stagemodels/circuits/blocks.h"

namespace antiphase::first_stage {

constexpr double second_bypassed_ohm(const Design& d) {
  return d.first_stage.second_cathode_ohm - d.first_stage.second_cathode_unbypassed_ohm;
}
constexpr bool second_bypassed(const Design& d) {
  return d.first_stage.second_cathode_unbypassed_ohm < d.first_stage.second_cathode_ohm;
}

constexpr void plate_resistor(Circuit& c, Node from, Node plate) {
  c.resistor(Role::plate_load, "first_plate_resistor", "first stage's plate resistor", from, plate,
             member::first_stage_plate_ohm);
}

/// A source of current, Norton's with its own resistance. What is built for it (a transistor, a pentode)
/// stands outside of the list.
constexpr Node constant_current(Circuit& c, Node supply, Node plate) {
  c.sink(Role::plate_source, "first_plate_source", "first stage's current source", supply, plate,
         member::first_stage_load_current_a);
  c.resistor(Role::plate_source, "first_plate_source_resistance", "resistance across the current source",
             supply, plate, member::first_stage_load_output_ohm);
  c.uses(member::first_stage_load_compliance_v);
  return plate;
}

/// The upper grid stands still; the upper plate gives out.
constexpr Node cascode(Circuit& c, Node supply, Node plate) {
  const Node upper_plate = c.node("P0U"), grid = c.node("G0U");
  c.triode("first_upper_section", "first stage's upper section", upper_plate, grid, plate, kGainSecond);
  plate_resistor(c, supply, upper_plate);
  c.resistor(Role::grid_feed, "upper_grid_feed", "resistor from the supply to the upper grid", supply, grid,
             member::first_stage_second_grid_feed_ohm);
  c.resistor(Role::grid_leak, "upper_grid_foot", "resistor from the upper grid to ground", grid, kGround,
             member::first_stage_second_grid_foot_ohm);
  c.capacitor(Role::grid_bypass, "upper_grid_bypass", "upper grid's bypass", grid, kGround,
              member::first_stage_second_grid_bypass_f);
  return upper_plate;
}

/// The upper triode holds its cathode where the lower plate goes, so that the plate resistor's ends move
/// alike. The upper cathode gives out.
constexpr Node mu_follower(Circuit& c, Node supply, Node plate) {
  const Node cathode = c.node("K0U"), foot = c.node("F0U"), grid = c.node("G0U");
  c.triode("first_upper_section", "first stage's upper section", supply, grid, cathode, kGainSecond);
  c.resistor(Role::bias, "upper_cathode_resistor", "upper section's cathode resistor", cathode, foot,
             member::first_stage_second_cathode_ohm);
  plate_resistor(c, foot, plate);
  c.capacitor(Role::inner_coupling, "upper_grid_capacitor", "capacitor to the upper grid", plate, grid,
              member::first_stage_second_coupling_f);
  c.resistor(Role::grid_leak, "upper_grid_leak", "upper section's grid leak", grid, foot,
             member::first_stage_second_grid_leak_ohm);
  return cathode;
}

/// The upper grid hangs on the lower plate, the upper cathode on a resistor above it and gives out.
constexpr Node srpp(Circuit& c, Node supply, Node plate) {
  const Node cathode = c.node("K0U");
  c.triode("first_upper_section", "first stage's upper section", supply, plate, cathode, kGainSecond);
  c.resistor(Role::bias, "upper_cathode_resistor", "upper section's cathode resistor", cathode, plate,
             member::first_stage_second_cathode_ohm);
  return cathode;
}

/// A second stage of the same kind behind a capacitor.
constexpr Node two_triodes(Circuit& c, Node supply, Node plate) {
  plate_resistor(c, supply, plate);
  const Node grid = c.node("G0B"), p = c.node("P0B"), k = c.node("K0B");
  c.capacitor(Role::inner_coupling, "second_grid_capacitor", "capacitor to the second triode", plate, grid,
              member::first_stage_second_coupling_f);
  c.resistor(Role::grid_leak, "second_grid_leak", "second triode's grid leak", grid, kGround,
             member::first_stage_second_grid_leak_ohm);
  c.triode("second_section_of_gain", "gain stage's second section", p, grid, k, kGainSecond);
  c.resistor(Role::plate_load, "second_plate_resistor", "second triode's plate resistor", supply, p,
             member::first_stage_second_plate_ohm);
  block::cathode_of_gain_stage(
      c, k,
      {"second_cathode_resistor", "second triode's cathode resistor", "second_cathode_resistor_unbypassed",
       "unbypassed part of the second cathode resistor", "second_cathode_bypass",
       "second triode's cathode bypass", "FOOT0B", member::first_stage_second_cathode_ohm,
       member::first_stage_second_cathode_unbypassed_ohm, member::first_stage_second_cathode_bypass_f,
       second_bypassed_ohm, second_bypassed},
      false);
  return p;
}

/// The screen stands still on its capacitor.
constexpr Node pentode(Circuit& c, Node supply, Node plate, Node screen) {
  plate_resistor(c, supply, plate);
  c.resistor(Role::grid_feed, "screen_resistor", "first stage's screen resistor", supply, screen,
             member::first_stage_screen_ohm);
  c.capacitor(Role::grid_bypass, "screen_bypass", "first stage's screen bypass", screen, kGround,
              member::first_stage_screen_bypass_f);
  return plate;
}

/// @param screen of the first section: of a pentode only. @return where the stage gives out.
constexpr Node above_the_plate(Circuit& c, GainForm form, Node supply, Node plate, Node screen) {
  switch (form) {
    case GainForm::constant_current:
      return constant_current(c, supply, plate);
    case GainForm::cascode:
      return cascode(c, supply, plate);
    case GainForm::mu_follower:
      return mu_follower(c, supply, plate);
    case GainForm::srpp:
      return srpp(c, supply, plate);
    case GainForm::two_triodes:
      return two_triodes(c, supply, plate);
    case GainForm::pentode:
      return pentode(c, supply, plate, screen);
    case GainForm::triode:
      break;
  }
  plate_resistor(c, supply, plate);
  return plate;
}

}  // namespace antiphase::first_stage
