/// Everything that is told of the builds of one design.
#pragma once

#include <cstdint>

#include "objectives/demands.h"
#include "results/describe/spread.h"

namespace antiphase {

struct SpreadAsk {
  int builds = 10000;
  std::uint64_t seed = 1;
  int threads = 1;
  bool select = false;       ///< what a part set in each build is worth
  int most_selected = 1000;  ///< builds of the sample that are set one by one
};

/// The same for any number of threads. demands: of a brief, without limits that come from ranges. Cost: some
/// 50 us a build, 150 us more for each of the first thousand with `select`.
SpreadReport spread_of(const Design&, const Demands& demands, const Tolerances&, const SpreadAsk&);

}  // namespace antiphase
