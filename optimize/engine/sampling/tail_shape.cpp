#include "optimize/engine/sampling/tail_shape.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace antiphase::engine {

double tail_shape(std::span<const double> x, double* scale) {
  const auto n = static_cast<double>(x.size());
  if (x.size() < 5 || !(x.back() > 0)) return std::numeric_limits<double>::infinity();
  // Profile likelihood over a grid of b = -k / scale around the first quartile, averaged by its weights.
  constexpr int kMostGrid = 80;
  const int grid = std::min(kMostGrid, 30 + static_cast<int>(std::sqrt(n)));
  const double quartile = x[static_cast<std::size_t>(n / 4 + 0.5) - 1];
  std::array<double, kMostGrid> b{}, likelihood{};
  const auto shape_at = [&](double at) {
    double sum = 0;
    for (const double v : x) sum += std::log1p(-at * v);
    return sum / n;
  };
  for (int i = 0; i < grid; ++i) {
    const auto k = static_cast<std::size_t>(i);
    b[k] = 1 / x.back() + (1 - std::sqrt(grid / (i + 0.5))) / (3 * quartile);
    const double shape = shape_at(b[k]);
    likelihood[k] = n * (std::log(-b[k] / shape) - shape - 1);
  }
  double mean = 0, all = 0;
  const double most = *std::max_element(likelihood.begin(), likelihood.begin() + grid);
  for (int i = 0; i < grid; ++i) {
    const auto k = static_cast<std::size_t>(i);
    const double w = std::exp(likelihood[k] - most);
    mean += w * b[k];
    all += w;
  }
  mean /= all;
  const double shape = shape_at(mean);
  if (scale) *scale = -shape / mean;
  constexpr double kWeight = 10, kBefore = 0.5;
  return (n * shape + kWeight * kBefore) / (n + kWeight);
}

double smooth_weights(std::span<double> w, std::span<double> scratch, std::span<int> order) {
  const auto n = static_cast<double>(w.size());
  const auto tail = static_cast<std::size_t>(std::min(0.2 * n, 3 * std::sqrt(n)));
  if (tail < 5) return std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < w.size(); ++k) order[k] = static_cast<int>(k);
  const auto weight = [&](int k) { return w[static_cast<std::size_t>(k)]; };
  const std::size_t first = w.size() - tail;
  std::nth_element(order.begin(), order.begin() + static_cast<long>(first) - 1, order.end(),
                   [&](int a, int b) { return weight(a) < weight(b); });
  const double threshold = weight(order[first - 1]);
  std::sort(order.begin() + static_cast<long>(first), order.end(),
            [&](int a, int b) { return weight(a) < weight(b); });
  const double most = weight(order[w.size() - 1]);
  constexpr double kNothing = 1e-12;  // all of the tail alike: no tail
  if (!(most - threshold > kNothing * most)) return -std::numeric_limits<double>::infinity();
  for (std::size_t k = 0; k < tail; ++k)
    scratch[k] = std::max(weight(order[first + k]) - threshold, 1e-15 * most);
  double scale = 0;
  const double shape = tail_shape(scratch.subspan(0, tail), &scale);
  if (!std::isfinite(shape)) return shape;
  for (std::size_t k = 0; k < tail; ++k) {
    const double p = (static_cast<double>(k) + 0.5) / static_cast<double>(tail);
    const double excess = std::abs(shape) < 1e-9 ? -scale * std::log1p(-p)
                                                 : scale * std::expm1(-shape * std::log1p(-p)) / shape;
    w[static_cast<std::size_t>(order[first + k])] = std::min(threshold + excess, most);
  }
  return shape;
}

double effective_size(std::span<const double> weights) {
  double sum = 0, squares = 0;
  for (const double w : weights) {
    sum += w;
    squares += w * w;
  }
  return squares > 0 ? sum * sum / squares : 0;
}

}  // namespace antiphase::engine
