// The tail of importance weights, where it is known: generalized Pareto tails by their quantile function.
#include "optimize/engine/sampling/tail_shape.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

/// Excesses of a generalized Pareto distribution with scale 1 (J. Pickands, Ann. Stat. 3 (1975) 119), rising.
std::vector<double> pareto(double shape, int count, std::uint64_t seed) {
  RandomNumbers random(seed);
  std::vector<double> x;
  for (int k = 0; k < count; ++k) {
    const double p = random.unit();
    x.push_back(std::abs(shape) < 1e-9 ? -std::log1p(-p) : std::expm1(-shape * std::log1p(-p)) / shape);
  }
  std::sort(x.begin(), x.end());
  return x;
}

}  // namespace

TEST_CASE("the shape of a generalized Pareto tail is found") {
  for (const double shape : {0.0, 0.3, 0.7, 1.0}) {
    CAPTURE(shape);
    double scale = 0;
    const double found = tail_shape(pareto(shape, 2000, 3), &scale);
    // Standard deviation of the best estimator: (1 + k) / sqrt n (R. L. Smith, Biometrika 72 (1985) 67); four
    // of them, and the pull of ten observations at 0.5.
    CHECK(within(found, shape, 4 * (1 + shape) / std::sqrt(2000.0) + 10.0 / 2010 * std::abs(shape - 0.5)));
    CHECK(within_ratio(scale, 1, 0.2));
  }
  CHECK(std::isinf(tail_shape(pareto(0.3, 4, 1))));
}

TEST_CASE("smoothed weights keep their order and their bulk, and weights all alike have no tail") {
  std::vector<double> weights = pareto(0.6, 1000, 5), before = weights, scratch(1000);
  std::vector<int> order(1000);
  const double shape = smooth_weights(weights, scratch, order);
  CHECK(shape > 0.3);
  CHECK(shape < 0.9);
  const auto tail = static_cast<std::size_t>(3 * std::sqrt(1000.0));
  for (std::size_t k = 0; k < 1000 - tail; ++k) CHECK(weights[k] == before[k]);
  CHECK(std::is_sorted(weights.begin(), weights.end()));
  CHECK(weights.back() <= before.back());
  std::vector<double> alike(1000, 1.0);
  CHECK(smooth_weights(alike, scratch, order) < 0);
  CHECK(alike == std::vector<double>(1000, 1.0));
}

TEST_CASE("the effective number of draws is all of even ones and one of a single one") {
  CHECK(within_ratio(effective_size(std::vector<double>(40, 0.3)), 40, 1e-12));
  CHECK(within_ratio(effective_size(std::vector<double>{0, 0, 5, 0}), 1, 1e-12));
  CHECK(effective_size(std::vector<double>{}) == 0);
  // weights 1 and 3: 16 / 10
  CHECK(within_ratio(effective_size(std::vector<double>{1, 3}), 1.6, 1e-12));
}
