/// One number out of several objectives, for descents.
#pragma once

#include <algorithm>
#include <array>
#include <limits>

#include "optimize/engine/problem.h"

namespace antiphase::engine::rivals::front {

using Weights = std::array<double, kMaxObjectives>;

/// Sum over the first n objectives of (f - from) * per.
inline double weighted_sum(const Weights& f, const Weights& from, const Weights& per, int n) {
  double sum = 0;
  for (int o = 0; o < n; ++o) sum += (f[o] - from[o]) * per[o];
  return sum;
}

/// The largest of (f - from) * per, and a little of their sum, so that weakly dominated points stand higher.
/// Source: Pascoletti & Serafini, J. Optim. Theory Appl. 42 (1984) 499-524; the slant is Wierzbicki's
/// augmentation (Lecture Notes in Economics and Math. Systems 177 (1980) 468-486).
inline double slanted_most(const Weights& f, const Weights& from, const Weights& per, int n) {
  constexpr double kSlant = 0.05;  // of the sum
  double most = -std::numeric_limits<double>::infinity();
  for (int o = 0; o < n; ++o) most = std::max(most, (f[o] - from[o]) * per[o]);
  return most + kSlant * weighted_sum(f, from, per, n);
}

}  // namespace antiphase::engine::rivals::front
