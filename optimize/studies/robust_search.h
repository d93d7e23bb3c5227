/// The stage of a search that ranks by builds: screens what the search found by its nominal figures, samples
/// builds of what is promising, and looks on around the most robust.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <vector>

#include "objectives/builds/robust.h"
#include "objectives/design_problem.h"
#include "optimize/engine/search.h"

namespace antiphase {

/// A design and what its builds come to.
struct RobustDesign {
  engine::Point point;   ///< feasible as drawn
  int nominal_rank = 0;  ///< place by nominal score among all that were looked at, from 1
  RobustFigures figures;
};

struct RobustOutcome {
  std::vector<RobustDesign>
      ranked;                ///< all of them of the same builds, best first; the nominally best is one
  int designs = 0;           ///< that were sampled
  std::int64_t builds = 0;   ///< that were solved for it
  bool interrupted = false;  ///< then ranked may be of fewer builds, or empty
};

/// Successive halving: some two hundred designs with a few builds each, a part of them with more, the best
/// with all that the request asks for; in between, designs one or two parts away from the best. The first
/// builds are those of every later, larger sample, and the same for every design. The same result for any
/// number of threads. Source of the halving: K. Jamieson & A. Talwalkar, "Non-stochastic best arm
/// identification and hyperparameter optimization", AISTATS 2016. demands: of the brief, without limits that
/// come from ranges. candidates: how many are to be shown.
RobustOutcome rank_by_builds(const DesignProblem&, const Demands& demands, const BuildsRequest&,
                             const engine::SearchOutcome& found, int candidates, std::uint64_t seed,
                             int threads, const engine::Watch& watch, const std::atomic<bool>& stop);

}  // namespace antiphase
