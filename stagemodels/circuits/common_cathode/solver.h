/// The gain stage's cycle.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::gain_stage {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::gain_stage
