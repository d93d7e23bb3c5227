/// Local search with a simplex on subspaces: NLopt's SBPLX behind a guard. nlopt.hpp is included in the .cpp
/// only.
#pragma once

#include "optimize/engine/methods/method.h"

namespace antiphase::engine {

// What the guard holds against NLopt 2.7.1 (each point was seen to fail without it): the library's
// generator is thread-local and is seeded first in each run; the search object is never copied; x is
// clamped into the cube and a non-finite x is answered without asking the judge; what the library is told is
// always finite; the guard keeps the budget, because maxeval is overrun; round-off stops count
// as converged; the answer is the best point the recorder saw, never the returned x.

/// Improves starts[0]; without one, the middle of the box. Survives kinks and narrow valleys.
/// Limits: it lowers an exact penalty cost + w * violation in three rounds of growing w, each from the
/// best point of the rounds before. Sources: Rowan, thesis, University of Texas at Austin (1990), the method;
/// Nocedal & Wright, Numerical Optimization, 2nd ed. (2006), section 17.2 (nonsmooth exact penalty).
Found subspace_simplex(const MethodTask& task);

}  // namespace antiphase::engine
