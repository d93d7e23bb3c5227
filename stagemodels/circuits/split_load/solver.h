/// The cycle of the split-load splitter, and a start for its rest point.
#pragma once

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/rest_point.h"

namespace antiphase::split_load {

/// Never null: for every form and both kinds of surroundings.
CycleSolver* unrolled(const Design&, const SolverWanted&, SolverRoom&);

/// One current through dropping resistor, plate load, tube, bias resistor and cathode load: fills the supply
/// and the nodes of the section. `from_v`: what the stage hangs on, through `dropping_ohm` (0: none);
/// `grid_v`: of a grid at a given voltage. False if that current is not found. Cost: under 1 us.
bool start_rest(const Circuit&, const Design&, double from_v, double dropping_ohm, double grid_v, NodeVolts&);

}  // namespace antiphase::split_load
