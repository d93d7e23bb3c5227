#include "objectives/ranking.h"

#include <algorithm>
#include <cmath>

namespace antiphase {
namespace {

/// Largest relative difference of any number that the search set, weighted so that 1 is "distinct".
double distance(const std::vector<engine::Axis>& axes, const engine::Point& a, const engine::Point& b) {
  if (a.family != b.family) return INFINITY;
  constexpr double kPart = 0.2, kSupply = 0.05;
  double largest = 0;
  for (std::size_t i = 0; i < axes.size(); ++i) {
    const double scale = axes[i].logarithmic ? std::log1p(kPart) : std::log1p(kSupply);
    const double ratio = a.x[i] / b.x[i];
    if (ratio > 0) largest = std::max(largest, std::fabs(std::log(ratio)) / scale);
  }
  return largest;
}

}  // namespace

std::vector<std::size_t> distinct(const DesignProblem& problem, const std::vector<engine::Point>& best,
                                  std::size_t count) {
  constexpr int kHalvings = 6;
  std::vector<std::size_t> chosen;
  for (int halving = 0; halving <= kHalvings && chosen.size() < std::min(count, best.size()); ++halving) {
    const double bar = halving == kHalvings ? 1e-9 : std::ldexp(1.0, -halving);
    for (std::size_t n = 0; n < best.size() && chosen.size() < count; ++n) {
      const auto& axes = problem.families()[best[n].family].parts.axes;
      const bool far = std::all_of(chosen.begin(), chosen.end(),
                                   [&](std::size_t c) { return distance(axes, best[n], best[c]) >= bar; });
      if (far) chosen.push_back(n);
    }
  }
  std::sort(chosen.begin(), chosen.end());
  return chosen;
}

}  // namespace antiphase
