#include "optimize/engine/pareto/scalarise.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "optimize/engine/pareto/dominance.h"
#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

TEST_CASE("weightings are positive, sum to one, begin with one per objective, and grow by appending") {
  for (int objectives = 2; objectives <= kMaxObjectives; ++objectives) {
    const std::vector<Weights> all = directions(objectives, 100), some = directions(objectives, 30);
    REQUIRE(all.size() == 100);
    for (std::size_t i = 0; i < all.size(); ++i) {
      double sum = 0;
      for (int k = 0; k < objectives; ++k) {
        CHECK(all[i][k] > 0);
        sum += all[i][k];
      }
      CHECK(within(sum, 1, 1e-14));
      if (i < some.size()) CHECK(all[i] == some[i]);
    }
    for (int k = 0; k < objectives; ++k)
      CHECK(std::max_element(all[k].begin(), all[k].begin() + objectives) - all[k].begin() == k);
    for (int k = 1; k < objectives; ++k) CHECK(all[objectives][k] == all[objectives][0]);
  }
  CHECK(directions(1, 10).size() == 1);
  CHECK(directions(3, 2).size() == 2);
  CHECK(directions(3, 0).empty());
}

TEST_CASE("weightings fill the simplex evenly") {
  // Uniform on the triangle: mean weight 1/3; a share of (1/2)^2 has its first weight above 1/2. A
  // low-discrepancy sequence of 500 comes within a few hundredths (a random one would have 0.02 deviation).
  const std::vector<Weights> all = directions(3, 504);
  double mean[3] = {0, 0, 0};
  int above = 0;
  for (std::size_t i = 4; i < all.size(); ++i) {
    for (int k = 0; k < 3; ++k) mean[k] += all[i][k] / 500;
    above += all[i][0] > 0.5;
  }
  for (const double m : mean) CHECK(within(m, 1.0 / 3, 0.01));
  CHECK(within(above / 500.0, 0.25, 0.02));
  // Two objectives: the gaps between 64 neighbours stay below three times the mean one.
  std::vector<double> first;
  for (const Weights& w : directions(2, 64)) first.push_back(w[0]);
  std::sort(first.begin(), first.end());
  for (std::size_t i = 1; i < first.size(); ++i) CHECK(first[i] - first[i - 1] < 3.0 / 63);
}

TEST_CASE("the Chebyshev minimum is on the front, and on a front that bends inwards it reaches the middle") {
  // f1^2 + f2^2 = 1 (concave): a weighted sum only ever picks the two ends.
  std::vector<Point> points;
  for (int i = 0; i <= 100; ++i) {
    const double a = i / 100.0 * std::acos(-1.0) / 2;
    points.push_back({{a}, Judged{0, 0, {std::sin(a), std::cos(a)}}, 0});
  }
  const std::size_t front_size = points.size();
  RandomNumbers random(1);
  for (int i = 0; i < 300; ++i)  // and dominated ones behind it
    points.push_back({{9}, Judged{0, 0, {0.8 + random.unit(), 0.8 + random.unit()}}, 0});
  const Scale scale = scale_of(std::span(points).first(front_size), 2);
  std::set<std::size_t> reached, by_sum;
  for (const Weights& w : directions(2, 200)) {
    const auto least = [&](auto value) {
      return std::min_element(
                 points.begin(), points.end(),
                 [&](const Point& a, const Point& b) { return value(a.judged) < value(b.judged); }) -
             points.begin();
    };
    reached.insert(least([&](const Judged& j) { return chebyshev(j, w, scale); }));
    by_sum.insert(least([&](const Judged& j) { return w[0] * j.objective[0] + w[1] * j.objective[1]; }));
  }
  CHECK(*reached.rbegin() < front_size);
  CHECK(reached.size() > 60);
  CHECK(by_sum == std::set<std::size_t>{0, 100});
}

TEST_CASE("the Chebyshev value is the largest weighted part and a little of the sum") {
  Scale scale;
  scale.objectives = 2;
  scale.ideal = {1, 10};
  scale.width = {2, 5};
  // parts: 0.25 * (4 - 1) / 2 = 0.375, 0.75 * (12 - 10) / 5 = 0.3
  CHECK(within(chebyshev(Judged{0, 0, {4, 12}}, Weights{0.25, 0.75}, scale), 0.375 + 0.01 * 0.675, 1e-15));
}
