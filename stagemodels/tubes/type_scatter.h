/// What one source says of a type and another does not: sheets, makers and published tables of one type as a
/// distribution.
#pragma once

#include <array>
#include <span>

#include "stagemodels/tubes/fit_data.h"
#include "stagemodels/tubes/section.h"

namespace antiphase {

/// One standard deviation of natural logarithms. Between sources, each of which differs from the type by the
/// same factors in all that it says; and of single statements, what the law and the reading leave beyond
/// that. Estimated over all types with two sources or more, and borrowed by the rest; the estimate is made
/// again, and held against these numbers, by tests/stagemodels/scatter/coverage_test.cpp.
struct TypeScatter {
  double current = 0, mu = 0,
         bend = 0;  ///< current at fixed voltages; amplification factor; distortion of a stage
  double said_current = 0, said_stage_current = 0, said_slope = 0, said_gain = 0, said_distortion = 0,
         said_swing = 0;
  /// How many standard deviations hold half, and nine tenths. A normal distribution has 0.674 and 1.645;
  /// sources scatter with more in the middle and more far off.
  double half = 0.674, nine_tenths = 1.645;
};
inline constexpr TypeScatter kTypeScatter{.current = 0.073,
                                          .mu = 0.061,
                                          .bend = 0.274,
                                          .said_current = 0.148,
                                          .said_stage_current = 0.026,
                                          .said_slope = 0.109,
                                          .said_gain = 0.045,
                                          .said_distortion = 0.279,
                                          .said_swing = 0.112,
                                          .half = 0.458,
                                          .nine_tenths = 1.415};

/// A specimen of the type with these factors of its current and its mu: the current at `typical` comes out so
/// many times as large, whatever mu is. {1, 1} where the law draws nothing there.
SectionSpread specimen_of(const TriodeLaw&, const PublishedPoint& typical, double current, double mu);

/// The published point at which a type is compared, of those that have a current the one with the largest;
/// null: none.
const PublishedPoint* typical_point(std::span<const PublishedPoint>);

/// Nineteen: the least and the largest of them hold nine tenths on average, (n - 1) / (n + 1) (order
/// statistics of equal draws).
inline constexpr int kTypeDraws = 19;

/// One draw of a type: standard normal numbers for current, mu and bend.
struct TypeDraw {
  double current = 0, mu = 0, bend = 0;
};
/// The draws of the n-th type of a design; the same for every design, so that designs are compared draw by
/// draw. Halton's points (J. H. Halton, Numer. Math. 2 (1960) 84) through the inverse of the normal
/// distribution.
std::array<TypeDraw, kTypeDraws> type_draws(int which_type);

}  // namespace antiphase
