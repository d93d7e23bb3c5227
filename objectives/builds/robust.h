/// What builds of a design come to, for ranking: yield and percentiles with the same builds for every design.
#pragma once

#include <cstdint>

#include "objectives/builds/sample.h"

namespace antiphase {

struct RobustFigures {
  int builds = 0;             ///< solved; fewer than asked where the design was given up early
  double yield = 0;           ///< share that reaches the target and keeps every limit
  engine::Interval yield_95;  ///< with 95 % confidence
  bool given_up = false;      ///< cannot reach `worth_having` any more; the rest is of what was solved
  /// The score that `percentile` of the builds do not pass (those without a score count as worst);
  /// empty: that many have none.
  std::optional<double> score;
};

struct RobustAsk {
  int builds = 256;          ///< 64 tell yields apart to 12 points, 256 to 6, 1024 to 3 (95 %)
  std::uint64_t seed = 1;    ///< the same for all designs that are compared: common random numbers, so that
                             ///< ranks do not flip by noise (build k has the same luck in every design)
  double percentile = 0.95;  ///< of the score
  /// Screening: solved in blocks of kBlock; as soon as the best yield that is still possible lies below this,
  /// the design is given up. 0: never.
  double worth_having = 0;

  static constexpr int kBlock = 32;
};

/// Pure: depends on its arguments alone; threads: safe. Allocates. Cost: 15–40 us a build.
RobustFigures robust_of(const Design&, const Tolerances&, const Demands&, const RobustAsk&);

}  // namespace antiphase
