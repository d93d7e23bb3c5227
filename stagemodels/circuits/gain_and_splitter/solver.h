/// The cycle of a gain stage and the pair that it drives.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::chain {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::chain
