#include "optimize/engine/pareto/spread_out.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/knee.h"
#include "optimize/engine/random_numbers.h"

using namespace antiphase::engine;

namespace {

/// f2 = 1 - sqrt(f1), crowded towards f1 = 0.
std::vector<Point> crowded_front(int count) {
  std::vector<Point> points;
  for (int i = 0; i <= count; ++i) {
    const double t = std::pow(static_cast<double>(i) / count, 4);
    points.push_back({{t}, Judged{3 * t + 1 - std::sqrt(t), 0, {t, 1 - std::sqrt(t)}}, 0});
  }
  return points;
}

bool has(const std::vector<Point>& points, const std::vector<double>& x) {
  return std::any_of(points.begin(), points.end(), [&](const Point& p) { return p.x == x; });
}

}  // namespace

TEST_CASE("a thinned front keeps the best, the extremes and the knee, best first") {
  const std::vector<Point> front = crowded_front(500);
  for (const int most : {4, 9, 40}) {
    const std::vector<Point> few = spread_out(front, 2, most);
    CHECK(few.size() == static_cast<std::size_t>(most));
    const Point best =
        *std::min_element(front.begin(), front.end(), [](auto& a, auto& b) { return better(a, b); });
    CHECK(few[0].x == best.x);
    CHECK(has(few, {0}));
    CHECK(has(few, {1}));
    CHECK(has(few, front[knee(front, 2)].x));
    CHECK(std::is_sorted(few.begin(), few.end(), [](auto& a, auto& b) { return better(a, b); }));
  }
}

TEST_CASE("a thinned front leaves no hole twice as wide as the least possible") {
  // The curve from (0,1) to (1,0) is about 1.48 long; 20 points cover it with every point within
  // 1.48 / 19 / 2 of one at best, so Gonzalez' bound is twice that; the four points kept first can cost a
  // little more, never more than the gap that 16 points would leave.
  const std::vector<Point> front = crowded_front(2000);
  const std::vector<Point> few = spread_out(front, 2, 20);
  double worst = 0;
  for (const Point& p : front) {
    double nearest = 1e9;
    for (const Point& q : few)
      nearest = std::min(nearest, std::hypot(p.judged.objective[0] - q.judged.objective[0],
                                             p.judged.objective[1] - q.judged.objective[1]));
    worst = std::max(worst, nearest);
  }
  CHECK(worst <= 2 * 1.48 / 15 / 2);
}

TEST_CASE("thinning does not depend on the order of the front") {
  std::vector<Point> front = crowded_front(300);
  const std::vector<Point> want = spread_out(front, 2, 25);
  RandomNumbers random(1);
  for (int k = 0; k < 5; ++k) {
    for (std::size_t i = front.size() - 1; i > 0; --i)
      std::swap(front[i], front[random.below(static_cast<int>(i) + 1)]);
    const std::vector<Point> got = spread_out(front, 2, 25);
    REQUIRE(got.size() == want.size());
    for (std::size_t i = 0; i < got.size(); ++i) CHECK(got[i].x == want[i].x);
  }
}

TEST_CASE("a short front is only sorted and a bound of zero leaves nothing") {
  CHECK(spread_out(crowded_front(5), 2, 50).size() == 6);
  CHECK(spread_out(crowded_front(5), 2, 0).empty());
  CHECK(spread_out({}, 2, 5).empty());
  CHECK(spread_out(crowded_front(50), 2, 1).size() == 1);
}
