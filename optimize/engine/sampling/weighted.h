/// Numbers with weights.
#pragma once

#include <algorithm>
#include <span>
#include <vector>

namespace antiphase::engine {

struct Weighted {
  double value, weight;
};

inline void sort_by_value(std::vector<Weighted>& numbers) {
  std::sort(numbers.begin(), numbers.end(),
            [](const Weighted& a, const Weighted& b) { return a.value < b.value; });
}

/// The least number at or below which a share q (0 … 1) of the weights lies; these add up to 1. sorted: by
/// value, not empty.
inline double weighted_quantile(std::span<const Weighted> sorted, double q) {
  double sum = 0;
  for (const Weighted& w : sorted) {
    sum += w.weight;
    if (sum >= q) return w.value;
  }
  return sorted.back().value;
}

}  // namespace antiphase::engine
