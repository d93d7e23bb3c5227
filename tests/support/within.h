/// Comparisons that mean what they say. doctest's own Approx adds 1 to the scale of its
/// tolerance, so that 100 nF "equals" 10 uF; it is not used in this project.
#pragma once

#include <cmath>

namespace antiphase {

/// |got - want| <= absolute. NaN is never within.
inline bool within(double got, double want, double absolute) {
  return std::abs(got - want) <= absolute;
}

/// |got - want| <= relative |want|. NaN is never within.
inline bool within_ratio(double got, double want, double relative) {
  return std::abs(got - want) <= relative * std::abs(want);
}

}  // namespace antiphase
