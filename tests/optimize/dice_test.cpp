#include "optimize/engine/random_numbers.h"

#include <doctest/doctest.h>

#include <array>
#include <set>

#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

TEST_CASE("the generator gives SplitMix64's published numbers") {
  // First outputs for seed 1234567, as in widely copied test vectors of Vigna's splitmix64.c.
  RandomNumbers random(1234567);
  CHECK(random.bits() == 6457827717110365317u);
  CHECK(random.bits() == 3203168211198807973u);
  CHECK(random.bits() == 9817491932198370423u);
}

TEST_CASE("task seeds are the generator's numbers, all different, and none is the run seed's neighbour") {
  RandomNumbers random(99);
  std::set<std::uint64_t> seeds;
  for (std::uint64_t task = 0; task < 10000; ++task) {
    CHECK(task_seed(99, task) == random.bits());
    seeds.insert(task_seed(99, task));
  }
  CHECK(seeds.size() == 10000);
  CHECK(task_seed(1, 0) != task_seed(2, 0));
}

TEST_CASE("unit draws fill the interval from 0 to below 1 evenly") {
  RandomNumbers random(5);
  std::array<int, 10> bin{};
  constexpr int kDraws = 100000;
  double sum = 0;
  for (int i = 0; i < kDraws; ++i) {
    const double t = random.unit();
    REQUIRE(t >= 0);
    REQUIRE(t < 1);
    sum += t;
    ++bin[static_cast<int>(10 * t)];
  }
  // Five standard deviations: of the mean sqrt(1/12/n), of a bin sqrt(n * 0.1 * 0.9).
  CHECK(within(sum / kDraws, 0.5, 5 * 0.2887 / 316.2));
  for (const int n : bin) CHECK(within(n, kDraws / 10.0, 5 * 94.9));
}

TEST_CASE("whole draws stay below their count and reach every value") {
  RandomNumbers random(6);
  std::array<int, 7> seen{};
  for (int i = 0; i < 7000; ++i) ++seen.at(random.below(7));
  for (const int n : seen) CHECK(within(n, 1000, 5 * 29.3));  // sqrt(7000 * 1/7 * 6/7)
  CHECK(random.below(1) == 0);
}
