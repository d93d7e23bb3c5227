#include "optimize/engine/pareto/scalarise.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace antiphase::engine {
namespace {

constexpr double kAugmentation = 0.01;  // rho: Steuer & Choo advise 1e-3 to 1e-2
constexpr double kFloor = 0.01;         // least weight: an ignored objective would be left anywhere

/// Positive root of t^(size+1) = t + 1 (the golden ratio for size 1).
double generalised_golden_ratio(int size) {
  double t = 1.5;
  for (int i = 0; i < 64; ++i) t = std::pow(1 + t, 1.0 / (size + 1));  // contracts
  return t;
}

Weights with_floor(Weights w, int objectives) {
  double sum = 0;
  for (int k = 0; k < objectives; ++k) sum += w[k] = std::max(w[k], kFloor);
  for (int k = 0; k < objectives; ++k) w[k] /= sum;
  return w;
}

}  // namespace

double chebyshev(const Judged& judged, const Weights& weights, const Scale& scale) {
  double most = 0, sum = 0;
  for (int k = 0; k < scale.objectives; ++k) {
    const double part = weights[k] * scale(judged, k);
    most = k == 0 ? part : std::max(most, part);
    sum += part;
  }
  return most + kAugmentation * sum;
}

std::vector<Weights> directions(int objectives, int count) {
  assert(objectives >= 1 && objectives <= kMaxObjectives);
  std::vector<Weights> all;
  if (objectives == 1) count = std::min(count, 1);
  for (int k = 0; k < objectives && static_cast<int>(all.size()) < count; ++k) {
    Weights w{};
    w[k] = 1;
    all.push_back(with_floor(w, objectives));
  }
  if (static_cast<int>(all.size()) < count) {
    Weights w{};
    std::fill_n(w.begin(), objectives, 1.0);
    all.push_back(with_floor(w, objectives));
  }
  const double golden = generalised_golden_ratio(std::max(1, objectives - 1));
  for (int n = 1; static_cast<int>(all.size()) < count; ++n) {
    std::vector<double> cut{0, 1};
    for (int k = 1; k < objectives; ++k) {
      const double t = 0.5 + n * std::pow(golden, -k);
      cut.push_back(t - std::floor(t));
    }
    std::sort(cut.begin(), cut.end());
    Weights w{};
    for (int k = 0; k < objectives; ++k) w[k] = cut[k + 1] - cut[k];
    all.push_back(with_floor(w, objectives));
  }
  return all;
}

}  // namespace antiphase::engine
