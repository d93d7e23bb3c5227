#include "optimize/engine/pareto/archive.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/dominance.h"
#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

void shuffle(std::vector<Point>& points, RandomNumbers& random) {
  for (std::size_t i = points.size() - 1; i > 0; --i)
    std::swap(points[i], points[random.below(static_cast<int>(i) + 1)]);
}

bool same(const std::vector<Point>& a, const std::vector<Point>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Point& p, const Point& q) {
    return p.x == q.x && p.family == q.family && p.judged.cost == q.judged.cost &&
           p.judged.objective == q.judged.objective;
  });
}

/// What the archive must hold, by the definition: compares all pairs.
std::vector<Point> front_by_definition(const std::vector<Point>& points, int objectives) {
  std::vector<Point> front;
  for (const Point& p : points) {
    bool stays = p.judged.feasible();
    for (const Point& q : points) {
      if (dominates(q.judged, p.judged, objectives)) stays = false;
      bool equal = q.judged.feasible();
      for (int k = 0; k < objectives; ++k) equal = equal && q.judged.objective[k] == p.judged.objective[k];
      if (equal && better(q, p)) stays = false;
    }
    if (stays) front.push_back(p);
  }
  std::sort(front.begin(), front.end(), [](const Point& a, const Point& b) { return better(a, b); });
  return front;
}

/// `steps` values a coordinate: few give ties and doubles, many give none.
std::vector<Point> random_points(int count, int objectives, int steps, RandomNumbers& random) {
  std::vector<Point> points;
  for (int i = 0; i < count; ++i) {
    Point p;
    p.x = {static_cast<double>(i)};
    p.family = random.below(3);
    for (int k = 0; k < objectives; ++k) {
      p.judged.objective[k] = random.below(steps);
      p.judged.cost += p.judged.objective[k];
    }
    if (random.below(4) == 0) p.judged.violation = 0.5;
    points.push_back(p);
  }
  return points;
}

/// Binh & Korn 1997 ("MOBES"): feasible x in [0,5] x [0,3].
Judged bnh(double x1, double x2) {
  Judged j;
  j.objective[0] = 4 * x1 * x1 + 4 * x2 * x2;
  j.objective[1] = (x1 - 5) * (x1 - 5) + (x2 - 5) * (x2 - 5);
  j.violation = std::max(0.0, ((x1 - 5) * (x1 - 5) + x2 * x2) / 25 - 1) +
                std::max(0.0, 1 - ((x1 - 8) * (x1 - 8) + (x2 + 3) * (x2 + 3)) / 7.7);
  j.cost = j.objective[0] + j.objective[1];
  return j;
}

}  // namespace

TEST_CASE("dominance needs better somewhere and worse nowhere, and only sound points take part") {
  const Judged a{0, 0, {1, 2}}, b{0, 0, {1, 3}}, c{0, 0, {0, 9}}, broken{0, 0.1, {0, 0}};
  CHECK(dominates(a, b, 2));
  CHECK_FALSE(dominates(b, a, 2));
  CHECK_FALSE(dominates(a, a, 2));
  CHECK_FALSE(dominates(a, c, 2));
  CHECK(dominates(c, a, 1));  // the second objective is not asked for
  CHECK_FALSE(dominates(broken, a, 2));
  CHECK_FALSE(dominates(a, broken, 2));
}

TEST_CASE("the archive is the front by definition, in whatever order points come") {
  RandomNumbers random(1);
  for (const int objectives : {1, 2, 3, 5})
    for (const int steps : {3, 8, 1000})
      for (int round = 0; round < 4; ++round) {
        std::vector<Point> points = random_points(400, objectives, steps, random);
        const std::vector<Point> want = front_by_definition(points, objectives);
        for (int order = 0; order < 3; ++order) {
          Archive archive(objectives);
          for (const Point& p : points) archive.insert(p);
          CHECK(same(archive.members(), want));
          CHECK(archive.size() == want.size());
          shuffle(points, random);
        }
      }
}

TEST_CASE("a large front in many blocks stays exact") {
  // Points on the sphere octant (none dominates another) and the same moved out (each dominated).
  RandomNumbers random(2);
  std::vector<Point> points;
  for (int i = 0; i < 3000; ++i) {
    const double a = random.unit() * 1.5, b = random.unit() * 1.5;
    for (const double radius : {1.0, 1.01}) {
      Point p;
      p.x = {a, b, radius};
      p.judged.objective = {-radius * std::cos(a) * std::cos(b), -radius * std::cos(a) * std::sin(b),
                            -radius * std::sin(a)};
      p.judged.cost = p.judged.objective[0];
      points.push_back(p);
    }
  }
  shuffle(points, random);
  Archive archive(3);
  for (const Point& p : points) archive.insert(p);
  // Every outer point is better than its own inner one and dominated by none on the same sphere.
  std::size_t outer = 0;
  for (const Point& p : archive.members()) outer += p.x[2] == 1.01;
  CHECK(outer == 3000);
  CHECK(same(archive.members(), front_by_definition(points, 3)));
}

TEST_CASE("insert says whether the point is a member now") {
  Archive archive(2);
  CHECK(archive.empty());
  CHECK(archive.insert(Point{{1}, Judged{0, 0, {2, 2}}, 0}));
  CHECK_FALSE(archive.insert(Point{{2}, Judged{0, 0, {3, 2}}, 0}));
  CHECK_FALSE(archive.insert(Point{{3}, Judged{0, 0.1, {0, 0}}, 0}));
  CHECK(archive.insert(Point{{4}, Judged{0, 0, {1, 3}}, 0}));
  CHECK(archive.insert(Point{{0}, Judged{0, 0, {2, 2}}, 0}));  // same objectives, earlier in order
  CHECK_FALSE(archive.insert(Point{{1}, Judged{0, 0, {2, 2}}, 0}));
  CHECK(archive.size() == 2);
  CHECK(archive.insert(Point{{5}, Judged{0, 0, {0, 0}}, 0}));
  CHECK(archive.size() == 1);
}

TEST_CASE("the published front of BNH survives among random points and nothing else dominates it") {
  // Deb, Multi-Objective Optimization using Evolutionary Algorithms (2001), section 8.1.1 (BNH): the front
  // is x1 = x2 in [0, 3] and then x1 in [3, 5] with x2 = 3.
  Archive archive(2);
  std::vector<std::vector<double>> published;
  for (int i = 0; i <= 300; ++i) published.push_back({i * 0.01, i * 0.01});
  for (int i = 1; i <= 200; ++i) published.push_back({3 + i * 0.01, 3});
  for (const auto& x : published) CHECK(archive.insert(Point{x, bnh(x[0], x[1]), 0}));
  RandomNumbers random(3);
  for (int i = 0; i < 20000; ++i) {
    const std::vector<double> x{5 * random.unit(), 3 * random.unit()};
    archive.insert(Point{x, bnh(x[0], x[1]), 0});
  }
  const auto curve = [](double f1) {
    const double x1 = f1 <= 72 ? std::sqrt(f1 / 8) : std::sqrt((f1 - 36) / 4), x2 = std::min(x1, 3.0);
    return (x1 - 5) * (x1 - 5) + (x2 - 5) * (x2 - 5);
  };
  std::size_t kept = 0;
  for (const Point& p : archive.members()) {
    kept += std::find(published.begin(), published.end(), p.x) != published.end();
    const double above = p.judged.objective[1] - curve(p.judged.objective[0]);
    CHECK(above >= -1e-12 * 50);  // rounding of f2 <= 50
    CHECK(above <= 0.2);          // f2 falls by 0.2 at most from one published point to the next
  }
  CHECK(kept == published.size());
  CHECK(archive.size() > published.size());
}
