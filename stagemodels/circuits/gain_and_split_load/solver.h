/// The cycle of a gain stage and the split load that it drives.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::split_load_chain {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::split_load_chain
