/// The cycle of the floating paraphase.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::floating_paraphase {

CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::floating_paraphase
