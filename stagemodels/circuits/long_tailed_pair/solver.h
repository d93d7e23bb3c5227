/// The pair's cycle, and a start for its rest point.
#pragma once

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/rest_point.h"

namespace antiphase::pair {

/// Never null: for every form and both kinds of surroundings.
CycleSolver* unrolled(const Design&, const SolverWanted&, SolverRoom&);

/// Where a pair rests about, taken as one section on the mean of the plate resistors: fills the supply and
/// the nodes of its sections. `from_v`: what the stage hangs on, through `dropping_ohm` (0: none); `grids_v`:
/// of grids at a given voltage. False if no current fits the tail. Cost: about 1 us.
bool start_rest(const Circuit&, const Design&, double from_v, double dropping_ohm, double grids_v,
                NodeVolts&);

}  // namespace antiphase::pair
