/// Methods of the NLopt library behind one guarded adapter. nlopt.hpp is included in the .cpp only.
#pragma once

#include "optimize/engine/methods/method.h"

namespace antiphase::engine {

// What the adapter holds against NLopt 2.7.1 (each point seen to fail without it): the library's
// generator is thread-local and is seeded first in each run; the search object is never copied; x is
// clamped into the cube and a non-finite x is answered without asking the judge; what it is told is
// always finite; the budget is kept by the adapter, because maxeval is overrun; round-off stops count
// as converged; the answer is the best point the recorder saw, never the returned x.
//
// Limits. Global methods see one order-keeping scale: all feasible values below all infeasible ones.
// Local methods lower an exact penalty cost + w * violation in three rounds of growing w, each from the
// best point of the rounds before. Source: Nocedal & Wright, Numerical Optimization, 2nd ed. (2006),
// section 17.2 (nonsmooth exact penalty).

/// Source: Price, JOTA 40 (1983) 333-348; Kaelo & Ali, JOTA 130 (2006) 253-264. NLopt: GN_CRS2_LM.
Found crs2(const MethodTask& task);

/// Source: Gablonsky & Kelley, J. Global Optim. 21 (2001) 27-37. NLopt: GN_DIRECT_L.
Found direct_l(const MethodTask& task);

/// Source: Rowan, thesis, University of Texas at Austin (1990). NLopt: LN_SBPLX.
Found sbplx(const MethodTask& task);

/// Source: Powell, report DAMTP 2009/NA06, University of Cambridge. NLopt: LN_BOBYQA.
Found bobyqa(const MethodTask& task);

}  // namespace antiphase::engine
