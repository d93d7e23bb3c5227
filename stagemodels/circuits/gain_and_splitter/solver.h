/// The cycle of a gain stage and the pair that it drives, unrolled by the compiler.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::chain {

/// For ideal surroundings; null for real ones, in which the circuit's tape takes hardly longer and is not
/// worth the minute that a compiler would take.
CycleSolver* unrolled(const Design&, const SolverWanted&, SolverRoom&);

}  // namespace antiphase::chain
