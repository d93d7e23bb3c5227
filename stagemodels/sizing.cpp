#include "stagemodels/sizing.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase {

double size_stage(const SizingInputs& inputs, Design& design) {
  return sizing_of(design.circuit).size(inputs, design);
}

double asked_current_a(const SizingInputs& inputs, CircuitKind circuit) {
  return sections(circuit) * inputs.plate_current_a + inputs.first_plate_current_a;
}

namespace {

/// The bias for followers that pass the current at this supply; NaN where no grid voltage does it.
double follower_bias_v(const Design& d, double cathode_v, double current_a, double supply_v) {
  double sum_v = 0;
  for (int i = 0; i < 2; ++i) {
    const TriodeSection section = d.driver_section(i);
    const double across_v = (supply_v - cathode_v) / section.spread.mu;
    const ScalarRoot grid = sizing::grid_for_current(*section.law, current_a / section.spread.current,
                                                     [&](double) { return across_v; });
    if (!grid.found) return NAN;
    sum_v += grid.x;
  }
  return cathode_v + 0.5 * sum_v;
}

}  // namespace

void set_driver_bias(Design& design) {
  Driver& driver = design.driver;
  if (driver.form != DriverForm::cathode_followers || !(design.output_valve_bias_v < 0)) return;
  const double cathode_v = design.output_valve_bias_v;
  const double current_a = (cathode_v - driver.rail_v) / driver.cathode_ohm + cathode_v / design.load_ohm;
  if (!(current_a > 0)) return;
  // A supply behind a dropping resistor hangs a little on where the grids stand.
  const bool dropped = design.main_supply_v > 0;
  Design about = design;
  about.driver.bias_v = cathode_v;
  for (int pass = 0; pass < (dropped ? 3 : 1); ++pass) {
    double supply_v = design.supply_v;
    if (dropped) {
      Evaluation at_rest;
      evaluate(about, Depth::rest, at_rest);
      if (at_rest.operating_point.solved != Solved::yes) return;
      supply_v = at_rest.operating_point.supply_v;
    }
    about.driver.bias_v = follower_bias_v(design, cathode_v, current_a, supply_v);
    if (!std::isfinite(about.driver.bias_v)) return;
  }
  driver.bias_v = about.driver.bias_v;
}

namespace sizing {

double fill_supply(const SizingInputs& inputs, double current_a, Design& design) {
  if (!(design.main_supply_v > 0)) {
    design.supply_v = inputs.supply_v;
    return 0;
  }
  const double drop_v = design.main_supply_v - inputs.supply_v;
  if (drop_v < 0) return -drop_v;
  design.supply_v = 0;  // a result
  design.dropping_ohm = std::max(kLeastOhm, drop_v / current_a);
  return 0;
}

TriodeCurrents slopes_at(const TriodeLaw& law, double current_a, double plate_to_cathode_v) {
  const ScalarRoot grid = grid_for_current(law, current_a, [&](double) { return plate_to_cathode_v; });
  return grid.found ? currents_at(law, grid.x, plate_to_cathode_v) : TriodeCurrents{};
}

double fill_cathode_resistor(const TriodeLaw& law, double plate_v, double current_a, double least_ohm,
                             double& cathode_ohm) {
  if (plate_v < kLeastPlate_v) return kLeastPlate_v - plate_v;
  const ScalarRoot grid = grid_for_current(law, current_a, [&](double vgk) { return plate_v + vgk; });
  if (!grid.found) return kLeastPlate_v;
  cathode_ohm = std::max(least_ohm, -grid.x / current_a);
  return 0;
}

}  // namespace sizing
}  // namespace antiphase
