/// The pair's cycle, and a start for its rest point.
#pragma once

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/rest_point.h"

namespace antiphase::pair {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

/// Where a pair rests about, taken as one section on the mean of the plate resistors.
struct RestStart {
  double supply_v, cathode_v, grid_v;
  std::array<double, 2> plate_v;
};
/// `from_v`: what the stage hangs on, through `dropping_ohm` (0: none); `grids_v`: of grids at a given
/// voltage. False if no current fits the tail. Cost: about 1 us.
bool start_rest(const Design&, double from_v, double dropping_ohm, double grids_v, RestStart& at);

}  // namespace antiphase::pair
