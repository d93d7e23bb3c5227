#include "stagemodels/sizing.h"

#include <algorithm>

#include "stagemodels/sizing_steps.h"

namespace antiphase {

double size_stage(const SizingInputs& inputs, Design& design) {
  return sizing_of(design.circuit).size(inputs, design);
}

double asked_current_a(const SizingInputs& inputs, CircuitKind circuit) {
  return sections(circuit) * inputs.plate_current_a + inputs.first_plate_current_a;
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
