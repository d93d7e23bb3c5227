/// Objectives put on a common scale: 0 the best value of each in a set, 1 the worst.
#pragma once

#include <array>
#include <span>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

struct Scale {
  int objectives = 0;
  std::array<double, kMaxObjectives> ideal{};  ///< least of each
  std::array<double, kMaxObjectives> width{};  ///< greatest minus least; 1 where all are equal

  double operator()(const Judged& judged, int k) const { return (judged.objective[k] - ideal[k]) / width[k]; }
};

/// The scale of a set of points, which is not empty. Of a front, `ideal` is the ideal point and ideal + width
/// the nadir point.
Scale scale_of(std::span<const Point> points, int objectives);

/// Index of the point with the least objective k, for each k; ties go to the first by better().
std::array<std::size_t, kMaxObjectives> extremes(std::span<const Point> points, int objectives);

}  // namespace antiphase::engine
