/// The gain stage's cycle.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::gain_stage {

/// Never null: for every form and both kinds of surroundings.
CycleSolver* unrolled(const Design&, const SolverWanted&, SolverRoom&);

/// One current through all resistors.
bool guess(const Circuit&, const Design&, NodeVolts&);

}  // namespace antiphase::gain_stage
