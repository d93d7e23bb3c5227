#include "optimize/engine/unit_cube.h"

#include <doctest/doctest.h>

#include <cmath>

#include "optimize/engine/random_numbers.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

Problem mixed() {
  Problem p;
  p.axes = {Axis{"linear", -3, 5, false, {}}, Axis{"log", 1e-9, 1e3, true, {}},
            Axis{"fixed", 7, 7, false, {}}, Axis{"levels", 10, 47, true, {10, 15, 22, 33, 47}}};
  return p;
}

}  // namespace

TEST_CASE("corners of the cube are the ends of the axes, exactly") {
  const Problem p = mixed();
  const UnitCube cube(p);
  REQUIRE(cube.size() == 3);
  CHECK(cube.to_x(std::vector<double>{0, 0, 0}) == std::vector<double>{-3, 1e-9, 7, 10});
  CHECK(cube.to_x(std::vector<double>{1, 1, 1}) == std::vector<double>{5, 1e3, 7, 47});
  CHECK(cube.to_x(std::vector<double>{-2, 9, 1.5}) == std::vector<double>{-3, 1e3, 7, 47});
}

TEST_CASE("a log axis is straight in the logarithm and levels share it equally") {
  const Problem p = mixed();
  const UnitCube cube(p);
  const std::vector<double> x = cube.to_x(std::vector<double>{0.5, 0.25, 0.5});
  CHECK(within(x[0], 1, 1e-15));
  CHECK(within_ratio(x[1], 1e-6, 1e-13));  // a quarter of twelve decades
  CHECK(x[3] == 22);
  CHECK(cube.to_x(std::vector<double>{0, 0, 0.199})[3] == 10);
  CHECK(cube.to_x(std::vector<double>{0, 0, 0.201})[3] == 15);
}

TEST_CASE("there and back again ends where it began, inside the box") {
  const Problem p = mixed();
  const UnitCube cube(p);
  RandomNumbers random(1);
  for (int k = 0; k < 1000; ++k) {
    const std::vector<double> x = cube.to_x(std::vector<double>{random.unit(), random.unit(), random.unit()});
    for (std::size_t i = 0; i < x.size(); ++i) {
      CHECK(x[i] >= p.axes[i].low);
      CHECK(x[i] <= p.axes[i].high);
    }
    const std::vector<double> again = cube.to_x(cube.to_unit(x));
    // The log axis spans ln(1e12) = 27.6; one rounding of u moves x by 27.6 * 2^-53, some roundings fit in
    // 1e-13.
    for (std::size_t i = 0; i < x.size(); ++i) CHECK(within(again[i], x[i], 1e-13 * (1 + std::abs(x[i]))));
    CHECK(again[3] == x[3]);
  }
}

TEST_CASE("a point outside is brought to the wall") {
  const Problem p = mixed();
  const UnitCube cube(p);
  CHECK(cube.to_unit(std::vector<double>{-99, 1e9, 7, 1000}) == std::vector<double>{0, 1, 0.9});
}
