#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "optimize/engine/random_numbers.h"
#include "optimize/engine/sampling/sobol.h"
#include "optimize/engine/sampling/statistics.h"
#include "tests/support/within.h"

#ifdef ANTIPHASE_BOOST
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/random/sobol.hpp>
#endif

using namespace antiphase;
using namespace antiphase::engine;

TEST_CASE("the first 2^k points of every coordinate stand one in each of 2^k equal cells") {
  // The defining property of a (0, 1)-sequence in base 2 (Niederreiter 1992), which scrambling keeps.
  const SobolPoints points(SobolPoints::kMostDimensions, 7);
  constexpr std::uint32_t kCells = 1024;
  std::vector<std::vector<int>> hits(SobolPoints::kMostDimensions, std::vector<int>(kCells));
  std::array<double, SobolPoints::kMostDimensions> x{};
  for (std::uint32_t n = 0; n < kCells; ++n) {
    points.point(n, x);
    for (std::size_t d = 0; d < x.size(); ++d) ++hits[d][static_cast<std::size_t>(x[d] * kCells)];
  }
  for (const auto& cells : hits) CHECK(std::all_of(cells.begin(), cells.end(), [](int h) { return h == 1; }));
}

TEST_CASE("another seed gives other points, the same seed the same") {
  std::array<double, 5> a{}, b{}, c{};
  SobolPoints(5, 1).point(100, a);
  SobolPoints(5, 1).point(100, b);
  SobolPoints(5, 2).point(100, c);
  CHECK(a == b);
  CHECK(a != c);
}

#ifdef ANTIPHASE_BOOST
TEST_CASE("before scrambling the points are those of a general-purpose library") {
  constexpr unsigned kDimensions = SobolPoints::kMostDimensions;
  boost::random::sobol_engine<std::uint32_t, 32> theirs(kDimensions);  // begins with point 1
  const SobolPoints ours(kDimensions, 99);
  int different = 0;
  for (std::uint32_t n = 1; n < 3000; ++n)
    for (unsigned d = 0; d < kDimensions; ++d)
      different += ours.unscrambled(n, static_cast<int>(d)) != theirs();
  CHECK(different == 0);
}

TEST_CASE("normal quantiles, whole and cut off, are Boost.Math's") {
  const boost::math::normal normal;
  for (double p : {1e-12, 1e-6, 1e-3, 0.01, 0.05, 0.074, 0.076, 0.2, 0.5, 0.7, 0.95, 0.999, 1 - 1e-9}) {
    CAPTURE(p);
    CHECK(within(normal_quantile(p), quantile(normal, p),
                 1e-13 * std::max(1.0, std::abs(quantile(normal, p)))));
    CHECK(within_ratio(normal_share(normal_quantile(p)), p, 1e-9));
  }
  for (double cut : {1.0, 2.5, 4.0}) {
    const double below = cdf(normal, -cut);
    for (double u : {1e-9, 0.01, 0.3, 0.5, 0.9, 1 - 1e-9})
      CHECK(within(truncated_normal(u, cut, normal_share(-cut)),
                   quantile(normal, below + u * (1 - 2 * below)) / cut, 1e-12));
  }
}
#endif

TEST_CASE("quantiles stand where type 7 of Hyndman and Fan has them") {
  const std::array<double, 5> five{1, 2, 3, 4, 10};
  CHECK(quantile(five, 0) == 1);
  CHECK(quantile(five, 0.5) == 3);
  CHECK(within(quantile(five, 0.9), 7.6, 1e-12));  // 4 + 0.6 (10 - 4)
  CHECK(quantile(five, 1) == 10);
}

TEST_CASE("quantiles of numbers in any order are those of the sorted ones") {
  std::vector<double> sorted;
  for (int k = 0; k < 101; ++k) sorted.push_back(k * k);
  std::vector<double> shuffled;
  for (int k = 0; k < 101; ++k) shuffled.push_back(sorted[static_cast<std::size_t>(k * 37 % 101)]);
  for (const double q : {0.0, 0.05, 0.333, 0.5, 0.95, 0.999, 1.0})
    CHECK(engine::quantile_of(shuffled, q) == engine::quantile(sorted, q));
  std::vector<double> one{3};
  CHECK(engine::quantile_of(one, 0.7) == 3);
}

TEST_CASE("Wilson's interval has its published numbers") {
  // 81 of 263: 0.2553 … 0.3662 (R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3)
  const Interval a = wilson_interval(81, 263, 0.95);
  CHECK(within(a.low, 0.2553, 5e-5));
  CHECK(within(a.high, 0.3662, 5e-5));
  // 0 of 20: 0 … 0.1611; 15 of 148: 0.0624 … 0.1605 (the same table)
  const Interval b = wilson_interval(0, 20, 0.95), c = wilson_interval(15, 148, 0.95);
  CHECK(b.low == 0);
  CHECK(within(b.high, 0.1611, 5e-5));
  CHECK(within(c.low, 0.0624, 5e-5));
  CHECK(within(c.high, 0.1605, 5e-5));
}

TEST_CASE("the confidence interval covers the truth as often as it says") {
  // 200 seeded repeats each. Wilson's mean coverage is 95 %; with 200 repeats three standard deviations are
  // 4.6 %.
  for (double truth : {0.5, 0.85, 0.97}) {
    CAPTURE(truth);
    int random_covered = 0, even_covered = 0;
    for (std::uint64_t repeat = 0; repeat < 200; ++repeat) {
      RandomNumbers random(task_seed(2024, repeat));
      const SobolPoints points(6, repeat);
      constexpr int kDraws = 1000;
      int hits = 0, even_hits = 0;
      std::array<double, 6> x{};
      for (std::uint32_t k = 0; k < kDraws; ++k) {
        hits += random.unit() < truth;
        points.point(k, x);
        // a share that hangs on six coordinates at once: the sum of all, wrapped, is uniform again
        double sum = 0;
        for (double v : x) sum += v;
        even_hits += sum - std::floor(sum) < truth;
      }
      const Interval i = wilson_interval(hits, kDraws, 0.95), e = wilson_interval(even_hits, kDraws, 0.95);
      random_covered += i.low <= truth && truth <= i.high;
      even_covered += e.low <= truth && truth <= e.high;
    }
    CHECK(random_covered >= 0.904 * 200);
    CHECK(random_covered <= 0.996 * 200);
    CHECK(even_covered >= 0.904 * 200);  // evenly spread points scatter less: more is no fault
  }
}

TEST_CASE("first-order indices of Ishigami's function are the published ones") {
  // T. Ishigami & T. Homma (1990) with a = 7, b = 0.1: S = 0.3139, 0.4424, 0 (Saltelli et al., "Sensitivity
  // analysis in practice", 2004). 10,000 draws; a correlation ratio scatters by about 2 sqrt(S / N) = 0.01.
  constexpr std::uint32_t kDraws = 10000;
  const SobolPoints points(3, 5);
  std::array<std::vector<double>, 3> unit;
  std::vector<double> y;
  for (std::uint32_t k = 0; k < kDraws; ++k) {
    std::array<double, 3> u{}, x{};
    points.point(k, u);
    for (std::size_t i = 0; i < 3; ++i) {
      x[i] = std::numbers::pi * (2 * u[i] - 1);
      unit[i].push_back(u[i]);
    }
    y.push_back(std::sin(x[0]) + 7 * std::pow(std::sin(x[1]), 2) + 0.1 * std::pow(x[2], 4) * std::sin(x[0]));
  }
  CHECK(within(first_order_index(unit[0], y), 0.3139, 0.01));
  CHECK(within(first_order_index(unit[1], y), 0.4424, 0.01));
  CHECK(within(first_order_index(unit[2], y), 0, 0.01));
}

TEST_CASE("a sum of uniform draws is driven by each as its variance says, and noise drives nothing") {
  // S_i = w_i^2 / sum w^2 exactly
  constexpr std::uint32_t kDraws = 4096;
  const SobolPoints points(3, 11);
  std::array<std::vector<double>, 3> unit;
  std::vector<double> y, flat(kDraws, 3.0);
  for (std::uint32_t k = 0; k < kDraws; ++k) {
    std::array<double, 3> u{};
    points.point(k, u);
    for (std::size_t i = 0; i < 3; ++i) unit[i].push_back(u[i]);
    y.push_back(3 * u[0] + u[1]);
  }
  CHECK(within(first_order_index(unit[0], y), 0.9, 0.01));
  CHECK(within(first_order_index(unit[1], y), 0.1, 0.01));
  CHECK(within(first_order_index(unit[2], y), 0, 0.01));
  CHECK(first_order_index(unit[0], flat) == 0);
}
