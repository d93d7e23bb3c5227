#include "stagemodels/circuits/first_stage/sizing.h"

#include <cmath>

#include "stagemodels/sizing_steps.h"

namespace antiphase::first_stage {
namespace {

/// What is settled about the stage before its parts are: its supply as it is with its current flowing.
struct Known {
  double supply_v = 0, current_a = 0;
  double output_v = 0;  ///< directly coupled: where the splitter's grid wants it; 0: free
  double screen_a = 0;  ///< of a pentode: known once it is filled
};

/// A cathode resistor for a section that passes the current with its plate at `plate_v`.
double fill_first_cathode(Design& d, const Known& at, double plate_v) {
  FirstStage& f = d.first_stage;
  return sizing::fill_cathode_resistor(f.tube->law(d.law), plate_v, at.current_a,
                                       sizing::kLeastOhm + f.cathode_unbypassed_ohm, f.cathode_ohm);
}

/// Grid to cathode of the second section with `across_v` from its cathode to its plate; NaN: none.
double second_grid_v(const Design& d, const Known& at, double across_v) {
  const ScalarRoot grid = sizing::grid_for_current(d.first_stage.second_tube->law(d.law), at.current_a,
                                                   [&](double) { return across_v; });
  return grid.found && across_v >= sizing::kLeastPlate_v ? grid.x : NAN;
}

double fill_constant_current(Design& d, const Known& at) {
  constexpr double kShare = 0.5;  // of the supply: the plate may go as far up as down
  constexpr double kLeast_a = 1e-6;
  const double plate_v = at.output_v > 0 ? at.output_v : kShare * at.supply_v;
  const double across_v = at.supply_v - plate_v;  // what its own resistance passes is a part of the current
  d.first_stage.load_current_a = std::fmax(kLeast_a, at.current_a - across_v / d.first_stage.load_output_ohm);
  return fill_first_cathode(d, at, plate_v);
}

/// The lower section gets a third of what the plate resistor leaves: it moves little, the upper one much.
double fill_cascode(Design& d, const Known& at) {
  constexpr double kLowerShare = 1.0 / 3;
  FirstStage& f = d.first_stage;
  const double output_v = at.supply_v - at.current_a * f.plate_ohm;
  const double plate_v = kLowerShare * output_v;
  const double grid_v = plate_v + second_grid_v(d, at, output_v - plate_v);
  if (!(grid_v > 0)) return std::fmax(sizing::kLeastPlate_v, 3 * sizing::kLeastPlate_v - output_v);
  f.second_grid_foot_ohm = f.second_grid_feed_ohm * grid_v / (at.supply_v - grid_v);
  return fill_first_cathode(d, at, plate_v);
}

/// Both sections get half of what the plate resistor leaves; directly coupled, what the splitter's grid says.
double fill_stacked(Design& d, const Known& at, double plate_ohm) {
  FirstStage& f = d.first_stage;
  const double dropped_v = at.current_a * plate_ohm;
  const double across_v = at.output_v > 0 ? at.supply_v - at.output_v : 0.5 * (at.supply_v - dropped_v);
  const double grid_v = second_grid_v(d, at, across_v);
  if (!std::isfinite(grid_v)) return std::fmax(sizing::kLeastPlate_v - across_v, 1.0);
  f.second_cathode_ohm = std::fmax(sizing::kLeastOhm, -grid_v / at.current_a);
  return fill_first_cathode(d, at, at.supply_v - across_v - dropped_v - at.current_a * f.second_cathode_ohm);
}

/// The second stage on a plate resistor like the first one's, at the same current.
double fill_two(Design& d, const Known& at) {
  FirstStage& f = d.first_stage;
  f.second_plate_ohm = f.plate_ohm;
  const double plate_v = at.supply_v - at.current_a * f.plate_ohm;
  const double second_v = at.output_v > 0 ? at.output_v : plate_v;
  const double second_a = (at.supply_v - second_v) / f.second_plate_ohm;
  if (const double short_v = fill_first_cathode(d, at, plate_v); short_v > 0) return short_v;
  return sizing::fill_cathode_resistor(f.second_tube->law(d.law), second_v, second_a,
                                       sizing::kLeastOhm + f.second_cathode_unbypassed_ohm,
                                       f.second_cathode_ohm);
}

/// The screen as high as the plate (common practice, and what published tables come near): the tube then is a
/// triode for direct current, and the law tells what of it the screen takes.
double fill_pentode(Design& d, Known& at) {
  FirstStage& f = d.first_stage;
  const TriodeLaw& together = f.tube->law(d.law);
  const double plate_v = at.supply_v - at.current_a * f.plate_ohm;
  const auto cathode_a = [&](double vgk) {
    return at.current_a * (1 + 1 / f.tube->pentode.law.ratio(plate_v + vgk));
  };
  const ScalarRoot grid = find_root(
      [&](double vgk) { return currents_at(together, vgk, plate_v + vgk).plate_a - cathode_a(vgk); },
      std::fmax(sizing::kLowestGrid_v, 1 - plate_v), sizing::kHighestGrid_v, 1e-9);
  if (!grid.found) return sizing::kLeastPlate_v;
  if (plate_v + grid.x < sizing::kLeastPlate_v) return sizing::kLeastPlate_v - (plate_v + grid.x);
  at.screen_a = cathode_a(grid.x) - at.current_a;
  f.screen_ohm = std::fmax(sizing::kLeastOhm, (at.supply_v - plate_v) / at.screen_a);
  f.cathode_ohm = std::fmax(sizing::kLeastOhm + f.cathode_unbypassed_ohm, -grid.x / cathode_a(grid.x));
  return 0;
}

double fill(Design& d, Known& at) {
  switch (d.first_stage.form) {
    case GainForm::constant_current:
      return fill_constant_current(d, at);
    case GainForm::cascode:
      return fill_cascode(d, at);
    case GainForm::mu_follower:
      return fill_stacked(d, at, d.first_stage.plate_ohm);
    case GainForm::srpp:
      return fill_stacked(d, at, 0);
    case GainForm::two_triodes:
      return fill_two(d, at);
    case GainForm::pentode:
      return fill_pentode(d, at);
    case GainForm::triode:
      break;
  }
  return fill_first_cathode(d, at, at.supply_v - at.current_a * d.first_stage.plate_ohm);
}

/// What the whole stage takes from the supply.
double taken_a(const Design& d, const Known& at) {
  const FirstStage& f = d.first_stage;
  if (f.form == GainForm::two_triodes)
    return at.current_a + (at.output_v > 0 ? (at.supply_v - at.output_v) / f.plate_ohm : at.current_a);
  // The divider that holds a cascode's upper grid.
  if (f.form == GainForm::cascode)
    return at.current_a + at.supply_v / (f.second_grid_feed_ohm + f.second_grid_foot_ohm);
  return at.current_a + at.screen_a;
}

}  // namespace

double size(const SizingInputs& w, double (*splitter)(const SizingInputs&, Design&), Design& d) {
  if (const double short_v = splitter(w, d); short_v > 0) return short_v;
  FirstStage& f = d.first_stage;
  if (!no_plate_resistor(d)) f.plate_ohm = w.first_plate_ohm;
  const bool direct = d.bias.form == BiasForm::direct_coupled;
  Known at{.supply_v = w.supply_v, .output_v = direct ? d.bias.grid_v : 0};
  d.bias.grid_v = 0;  // a result
  // A cascode's divider and a pentode's screen hang on what they draw through the decoupling resistor: a few
  // rounds settle it.
  const bool rounds = f.form == GainForm::cascode || f.form == GainForm::pentode;
  for (int round = 0; round < (f.decoupling_ohm > 0 && rounds ? 3 : 1); ++round) {
    at.current_a = current_follows(d) ? (w.supply_v - at.output_v - at.screen_a * f.decoupling_ohm) /
                                            (f.plate_ohm + f.decoupling_ohm)
                                      : w.first_plate_current_a;
    at.supply_v = w.supply_v - taken_a(d, at) * f.decoupling_ohm;
    if (const double short_v = fill(d, at); short_v > 0) return short_v;
  }
  return sizing::fill_supply(w, sections(d.circuit) * w.plate_current_a + taken_a(d, at), d);
}

}  // namespace antiphase::first_stage
