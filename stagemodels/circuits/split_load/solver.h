/// The cycle of the split-load splitter.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::split_load {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::split_load
