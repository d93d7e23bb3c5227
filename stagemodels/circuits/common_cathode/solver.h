/// The gain stage's cycle, and a start for its rest point.
#pragma once

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/rest_point.h"

namespace antiphase::gain_stage {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

/// Plate current at rest of a section whose grid is at ground or hangs on its own cathode circuit: what it
/// passes less what its resistors would falls all the way as the current grows. Newton inside a bracket.
/// `bias_ohm` lies between cathode and the foot of the grid's leak, `ohm` is all that the current runs
/// through.
/// @return < 0 if it cannot be found to `tolerated_a`. Cost: under 1 us.
double rest_current_a(const TriodeSection&, double supply_v, double bias_ohm, double ohm, double tolerated_a);

}  // namespace antiphase::gain_stage
