#include "optimize/engine/pareto/hypervolume.h"

#include <algorithm>
#include <cassert>
#include <utility>

namespace antiphase::engine {
namespace {

using Set = std::vector<std::vector<double>>;

bool no_worse(const std::vector<double>& a, const std::vector<double>& b) {
  for (std::size_t k = 0; k < a.size(); ++k)
    if (a[k] > b[k]) return false;
  return true;
}

/// Drops what another one dominates or equals.
Set front_of(Set points) {
  std::sort(points.begin(), points.end());  // a later one can then never dominate an earlier one
  points.erase(std::unique(points.begin(), points.end()), points.end());
  Set front;
  for (std::vector<double>& p : points)
    if (std::none_of(front.begin(), front.end(), [&](const auto& f) { return no_worse(f, p); }))
      front.push_back(std::move(p));
  return front;
}

double inclusive(const std::vector<double>& p, std::span<const double> reference) {
  double volume = 1;
  for (std::size_t k = 0; k < p.size(); ++k) volume *= reference[k] - p[k];
  return volume;
}

/// front: sorted, without dominated points.
double volume_of(const Set& front, std::span<const double> reference) {
  if (front.empty()) return 0;
  double sum = 0;
  if (reference.size() == 2) {  // first objective rises, second falls
    double ceiling = reference[1];
    for (const std::vector<double>& p : front) {
      sum += (reference[0] - p[0]) * (ceiling - p[1]);
      ceiling = p[1];
    }
    return sum;
  }
  for (std::size_t i = 0; i < front.size(); ++i) {
    // What of point i's box the points after it do not cover.
    Set covered;
    for (std::size_t j = i + 1; j < front.size(); ++j) {
      std::vector<double> limited = front[j];
      for (std::size_t k = 0; k < limited.size(); ++k) limited[k] = std::max(limited[k], front[i][k]);
      covered.push_back(std::move(limited));
    }
    sum += inclusive(front[i], reference) - volume_of(front_of(std::move(covered)), reference);
  }
  return sum;
}

}  // namespace

double hypervolume(std::vector<std::vector<double>> points, std::span<const double> reference) {
  std::erase_if(points, [&](const std::vector<double>& p) {
    assert(p.size() == reference.size());
    for (std::size_t k = 0; k < p.size(); ++k)
      if (!(p[k] < reference[k])) return true;
    return false;
  });
  return volume_of(front_of(std::move(points)), reference);
}

}  // namespace antiphase::engine
