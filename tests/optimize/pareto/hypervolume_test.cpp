#include "optimize/engine/pareto/hypervolume.h"

#include <doctest/doctest.h>

#include <cmath>

#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

using Set = std::vector<std::vector<double>>;

/// Counts the unit cells of [0, size)^d that some point dominates: an independent way for whole numbers.
double by_counting(const Set& points, int objectives, int size) {
  std::vector<int> cell(objectives, 0);
  double count = 0;
  for (bool more = true; more;) {
    bool covered = false;
    for (const auto& p : points) {
      bool inside = true;
      for (int k = 0; k < objectives; ++k) inside = inside && p[k] <= cell[k];
      covered |= inside;
    }
    count += covered;
    more = false;
    for (int k = 0; k < objectives && !more; ++k) {
      more = ++cell[k] < size;
      if (!more) cell[k] = 0;
    }
  }
  return count;
}

}  // namespace

TEST_CASE("one point dominates its box, and points beyond the reference nothing") {
  const std::vector<double> reference{10, 10, 10};
  CHECK(hypervolume({{1, 2, 3}}, reference) == 9 * 8 * 7);
  CHECK(hypervolume({{1, 2, 3}, {1, 2, 3}, {4, 5, 6}}, reference) == 9 * 8 * 7);
  CHECK(hypervolume({{1, 2, 10}, {11, 0, 0}}, reference) == 0);
  CHECK(hypervolume({}, reference) == 0);
  CHECK(hypervolume({{4}, {7}}, std::vector<double>{10}) == 6);
}

TEST_CASE("the volume of random whole-numbered sets is what counting cells gives") {
  RandomNumbers random(1);
  for (const int objectives : {2, 3, 4, 5})
    for (int round = 0; round < 6; ++round) {
      const int size = objectives < 4 ? 12 : 7;
      Set points(15, std::vector<double>(objectives));
      for (auto& p : points)
        for (double& v : p) v = random.below(size + 1);
      const std::vector<double> reference(objectives, size);
      CHECK(hypervolume(points, reference) == by_counting(points, objectives, size));
    }
}

TEST_CASE("the sampled ZDT1 front approaches its area from below") {
  // Up to (1.1, 1.1): integral of 1.1 - (1 - sqrt f) over [0, 1] plus 0.1 * 1.1 = 0.1 + 2/3 + 0.11.
  const double area = 0.21 + 2.0 / 3;
  double before = 0;
  for (const int count : {10, 100, 1000, 10000}) {
    Set points;
    for (int i = 0; i <= count; ++i) {
      const double f = static_cast<double>(i) / count;
      points.push_back({f, 1 - std::sqrt(f)});
    }
    const double volume = hypervolume(points, std::vector<double>{1.1, 1.1});
    CHECK(volume > before);
    CHECK(volume < area);
    before = volume;
  }
  // The steps leave out the triangles above the curve: at most (f2 range) * step = 1e-4.
  CHECK(within(before, area, 1e-4));
}
