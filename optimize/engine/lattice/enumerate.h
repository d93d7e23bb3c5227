/// Judges every point of a lattice that is small enough.
#pragma once

#include <atomic>

#include "optimize/engine/lattice/ledger.h"
#include "optimize/engine/problem.h"
#include "optimize/engine/recorder.h"

namespace antiphase::engine {

struct Enumerated {
  Ended ended = Ended::not_run;  ///< converged: every point was judged
  Ledger fresh;                  ///< the points judged, in lexicographic order of their levels
  int evaluations = 0;
};

/// Judges at most `evaluations` points, in lexicographic order. `stop` may be null.
Enumerated enumerate(const Problem& lattice, int evaluations, const std::atomic<bool>* stop, Seen seen = {});

}  // namespace antiphase::engine
