#include "optimize/engine/order.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "optimize/engine/random_numbers.h"

using namespace antiphase::engine;

namespace {

/// Few different values, so that ties are common.
Point draw(RandomNumbers& random) {
  Point p;
  p.judged.cost = random.below(3) - 1;
  p.judged.violation = random.below(2) ? 0 : random.below(3) * 0.5;
  p.family = random.below(2);
  p.x = {static_cast<double>(random.below(2)), static_cast<double>(random.below(2))};
  return p;
}

}  // namespace

TEST_CASE("a cheap point that breaks a limit never beats a dear one that keeps them") {
  const Judged cheap_broken{-1e9, 1e-9, {}}, dear_sound{1e9, 0, {}};
  CHECK(better(dear_sound, cheap_broken));
  CHECK_FALSE(better(cheap_broken, dear_sound));
}

TEST_CASE("among broken points the smaller violation wins and then the smaller cost") {
  CHECK(better(Judged{9, 0.1, {}}, Judged{1, 0.2, {}}));
  CHECK(better(Judged{1, 0.2, {}}, Judged{9, 0.2, {}}));
  CHECK_FALSE(better(Judged{1, 0.2, {}}, Judged{1, 0.2, {}}));
}

TEST_CASE("better is a strict weak order of judgements") {
  RandomNumbers random(1);
  for (int k = 0; k < 5000; ++k) {
    const Judged a = draw(random).judged, b = draw(random).judged, c = draw(random).judged;
    CHECK_FALSE(better(a, a));
    CHECK_FALSE((better(a, b) && better(b, a)));
    if (better(a, b) && better(b, c)) CHECK(better(a, c));
    const auto same = [](const Judged& p, const Judged& q) { return !better(p, q) && !better(q, p); };
    if (same(a, b) && same(b, c)) CHECK(same(a, c));
  }
}

TEST_CASE("better is a total order of points: only a point itself is its equal") {
  RandomNumbers random(2);
  for (int k = 0; k < 5000; ++k) {
    const Point a = draw(random), b = draw(random), c = draw(random);
    const bool equal = a.x == b.x && a.family == b.family && a.judged.cost == b.judged.cost &&
                       a.judged.violation == b.judged.violation;
    CHECK((better(a, b) || better(b, a)) != equal);
    CHECK_FALSE((better(a, b) && better(b, a)));
    if (better(a, b) && better(b, c)) CHECK(better(a, c));
  }
}

TEST_CASE("sorting gives the same sequence from any start") {
  RandomNumbers random(3);
  std::vector<Point> points;
  for (int k = 0; k < 60; ++k) points.push_back(draw(random));
  const auto by_better = [](const Point& a, const Point& b) { return better(a, b); };
  std::vector<Point> sorted = points;
  std::sort(sorted.begin(), sorted.end(), by_better);
  for (int k = 0; k < 20; ++k) {
    for (std::size_t i = points.size() - 1; i > 0; --i)
      std::swap(points[i], points[random.below(static_cast<int>(i) + 1)]);
    std::vector<Point> again = points;
    std::sort(again.begin(), again.end(), by_better);
    for (std::size_t i = 0; i < again.size(); ++i) {
      CHECK(again[i].x == sorted[i].x);
      CHECK(again[i].family == sorted[i].family);
    }
  }
}
