#include "optimize/engine/lattice/levels.h"

#include <doctest/doctest.h>

#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

TEST_CASE("the nearest level is nearest in difference, or in ratio on a log axis") {
  const Axis linear{"a", 1, 10, false, {1, 4, 10}}, log{"b", 1, 10, true, {1, 4, 10}};
  CHECK(nearest_level(linear, 6.9) == 1);
  CHECK(nearest_level(linear, 7.1) == 2);
  CHECK(nearest_level(linear, 7.0) == 1);  // a tie goes down
  CHECK(nearest_level(log, 6.3) == 1);     // sqrt(40) = 6.3246
  CHECK(nearest_level(log, 6.4) == 2);
  CHECK(nearest_level(log, 2.0) == 0);  // sqrt(4): a tie goes down
  CHECK(nearest_level(log, 0.1) == 0);
  CHECK(nearest_level(log, 99) == 2);
}

TEST_CASE("levels and values of a lattice point belong together") {
  Problem lattice;
  lattice.axes = {Axis{"a", 1, 10, false, {1, 4, 10}}, Axis{"b", 5, 5, false, {5}}};
  CHECK(nearest_levels(lattice, std::vector<double>{3.9, 8}) == Levels{1, 0});
  std::vector<double> x(2);
  values_of(lattice, Levels{2, 0}, x);
  CHECK(x == std::vector<double>{10, 5});
}

TEST_CASE("the size of a lattice may pass every integer and is zero where a point cannot be made") {
  Problem lattice;
  CHECK(lattice_size(lattice) == 0);
  lattice.axes.assign(40, Axis{"a", 1, 3, false, {1, 2, 3}});
  CHECK(within_ratio(lattice_size(lattice), 12157665459056928801.0, 1e-12));  // 3^40
  lattice.axes[3].levels.clear();
  CHECK(lattice_size(lattice) == 0);
}
