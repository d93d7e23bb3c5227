/// What builds of a design come to, for ranking: yield and percentiles with the same builds for every design.
#pragma once

#include <cstdint>
#include <vector>

#include "objectives/builds/sample.h"

namespace antiphase {

/// By what designs are ranked: by the nominal score, by how many builds do their job, or by the score that a
/// share of the builds keeps.
enum class RankBy { nominal, yield, percentile };

/// What a brief asks of builds.
struct BuildsRequest {
  RankBy rank_by = RankBy::yield;
  double percentile = 0.95;  ///< share of all builds, 0.5 … 0.999
  int builds = 2000;         ///< of each design that is ranked in the end
  Tolerances tolerances;
};

struct RobustFigures {
  int builds = 0, kept = 0;   ///< solved; and of them reach the target and keep every limit
  double yield = 0;           ///< kept over builds
  engine::Interval yield_95;  ///< with 95 % confidence
  /// The score that `percentile` of all builds reach or better while they keep every limit; empty: fewer
  /// builds than that keep them.
  std::optional<double> score;
};

/// Whether a design with `a` comes before one with `b`; neither: the nominal score decides. Both of as many
/// builds, and the same ones.
bool better_builds(RankBy, const RobustFigures& a, const RobustFigures& b);

/// Builds 0, 1, … of one design, as far as they were asked for. Build k has the same luck in every design
/// with the same seed, so that ranks do not flip by noise. Each build is solved no further than to the first
/// limit that it breaks.
class RobustSample {
 public:
  /// demands: of the brief, see with_low_frequency(). Ranges of variables count for the nominal design only.
  RobustSample(const Design&, const Tolerances&, const Demands&, std::uint64_t seed);

  /// Up to `builds` of them in all. Cost: 15–40 us each. Pure; one thread at a time.
  void extend(int builds);

  /// percentile: 0 … 1, of the score.
  RobustFigures figures(double percentile) const;

 private:
  BuildModel model_;
  Demands demands_;
  Depth depth_;
  engine::SobolPoints points_;
  int builds_ = 0, kept_ = 0;
  std::vector<double> score_;  ///< of the builds kept
};

/// All at once.
RobustFigures robust_of(const Design&, const Tolerances&, const Demands&, int builds, std::uint64_t seed,
                        double percentile);

}  // namespace antiphase
