/// Local search on a lattice, with kicks.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>

#include "optimize/engine/lattice/ledger.h"
#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/problem.h"
#include "optimize/engine/recorder.h"

namespace antiphase::engine {

/// What is to be made small among feasible points. Empty: the cost.
using Merit = std::function<double(const Judged&)>;

struct DescentTask {
  const Problem* lattice = nullptr;  ///< not owned; every axis has levels
  Levels start;
  int evaluations = 0;  ///< points judged anew, at most
  std::uint64_t seed = 1;
  const Ledger* known = nullptr;  ///< judged before, of the same lattice; not charged; may be null
  Merit merit;
  const std::atomic<bool>* stop = nullptr;
  Seen seen;  ///< told of points judged anew
};

struct DescentFound {
  Ended ended = Ended::not_run;
  Levels best;  ///< empty if nothing was judged
  Judged best_judged;
  Ledger fresh;  ///< the points judged anew, in order
  int evaluations = 0;
};

/// From the start, takes near steps (steps.h) as long as one leads down, repeating each while it does. At
/// rest, kicks the best point and settles again: at random, harder after many in vain, and by
/// differences of earlier resting places; once in a while it tries the wide steps. Feasible points come
/// first; among infeasible ones less violation is lower. Ends when the budget is spent, or when many kicks
/// in a row meet nothing that is not known (for every point of a small lattice there is enumerate.h).
/// The same task gives the same answer. Source: Lourenco, Martin & Stutzle, "Iterated local search",
/// Handbook of Metaheuristics (2003), ch. 11; the repeated step after Hooke & Jeeves, JACM 8 (1961)
/// 212-229.
DescentFound descend(const DescentTask& task);

}  // namespace antiphase::engine
