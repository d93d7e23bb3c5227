#include "optimize/engine/pareto/knee.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

std::vector<Point> curve(int count, double (*second)(double), double scale = 1) {
  std::vector<Point> points;
  for (int i = 0; i <= count; ++i) {
    const double t = static_cast<double>(i) / count;
    points.push_back({{t}, Judged{t, 0, {t, scale * second(t)}}, 0});
  }
  return points;
}

}  // namespace

TEST_CASE("the knee of the ZDT1 front is at a quarter") {
  // f2 = 1 - sqrt(f1) (Zitzler, Deb & Thiele 2000). Distance from the line through (0,1) and (1,0) is
  // proportional to sqrt(f1) - f1, which is greatest at f1 = 1/4.
  const auto zdt1 = [](double f) { return 1 - std::sqrt(f); };
  const std::vector<Point> front = curve(1000, zdt1);
  CHECK(front[knee(front, 2)].x[0] == 0.25);
  // Units do not matter.
  const std::vector<Point> scaled = curve(1000, zdt1, 1e6);
  CHECK(scaled[knee(scaled, 2)].x[0] == 0.25);
}

TEST_CASE("the knee of f2 = (1 - f1)^3 is where the slope is minus one") {
  const std::vector<Point> front = curve(3000, [](double f) { return (1 - f) * (1 - f) * (1 - f); });
  CHECK(within(front[knee(front, 2)].x[0], 1 - 1 / std::sqrt(3.0), 0.5 / 3000 + 1e-12));
}

TEST_CASE("the knee of a sphere octant seen from outside is on its diagonal") {
  // f = 1 - u with u on the unit sphere: the extremes are 1 - e_k, their plane has the normal (1, 1, 1).
  std::vector<Point> front;
  const auto add = [&](double a, double b, double c) {
    front.push_back({{a, b, c}, Judged{0, 0, {1 - a, 1 - b, 1 - c}}, 0});
  };
  add(1, 0, 0);
  add(0, 1, 0);
  add(0, 0, 1);
  const double third = 1 / std::sqrt(3.0);
  add(third, third, third);
  RandomNumbers random(1);
  for (int i = 0; i < 500; ++i) {
    const double a = random.unit(), b = random.unit(), c = random.unit(),
                 r = std::sqrt(a * a + b * b + c * c);
    add(a / r, b / r, c / r);
  }
  CHECK(knee(front, 3) == 3);
}

TEST_CASE("fronts without a plane through their extremes still have a knee") {
  const Point only{{1}, Judged{1, 0, {4, 4}}, 0};
  CHECK(knee(std::vector<Point>{only}, 2) == 0);
  // Two points, three objectives.
  const std::vector<Point> two{{{1}, Judged{2, 0, {0, 1, 1}}, 0}, {{2}, Judged{1, 0, {1, 0, 0}}, 0}};
  CHECK(knee(two, 3) == 1);
  // Equal distances: the better one.
  const std::vector<Point> pair{{{1}, Judged{2, 0, {0, 1}}, 0}, {{2}, Judged{1, 0, {1, 0}}, 0}};
  CHECK(knee(pair, 2) == 1);
  CHECK(knee(std::vector<Point>{{{1}, Judged{5, 0, {5}}, 0}, {{2}, Judged{3, 0, {3}}, 0}}, 1) == 1);
}
