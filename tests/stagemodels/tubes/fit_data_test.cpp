#include "stagemodels/tubes/fit_data.h"

#include <doctest/doctest.h>

#include <vector>

#include "tests/support/within.h"

using namespace antiphase;

namespace {

PublishedPoint point(double plate_v, double current_a) {
  PublishedPoint p;
  p.plate_v = plate_v;
  p.plate_current_a = current_a;
  return p;
}

}  // namespace

TEST_CASE("the bias of a published point is the printed one, or the drop over its cathode resistor") {
  PublishedPoint p = point(250, 10e-3);
  CHECK_FALSE(grid_voltage_of(p));
  p.cathode_ohm = 200;
  CHECK(within(*grid_voltage_of(p), -2, 1e-12));
  p.grid_v = -1.9;
  CHECK(*grid_voltage_of(p) == -1.9);
}

TEST_CASE("the typical current is the largest published one, else half the largest reading") {
  const std::vector<PublishedPoint> points{point(100, 3.7e-3), point(250, 10e-3)};
  const std::vector<CurvePoint> curve{{0, 100, 30e-3}, {-2, 100, 1e-3}};
  CHECK(typical_current_a(points, curve) == 10e-3);
  CHECK(typical_current_a({}, curve) == 15e-3);
  CHECK(typical_current_a({}, {}) == 0);
}

TEST_CASE("a published point gives one observation for each number printed") {
  PublishedPoint p = point(250, 1.2e-3);
  p.gm_s = 1.6e-3;
  p.mu = 100;
  const std::vector<PublishedPoint> unbiased{p};
  // without a bias its current is where gm and mu are taken, and says nothing itself
  auto observations = observations_of(unbiased, 0);
  REQUIRE(observations.size() == 2);
  CHECK_FALSE(observations[0].grid_v);
  CHECK(observations[0].at_current_a == 1.2e-3);
  p.grid_v = -2;
  const std::vector<PublishedPoint> biased{p};
  observations = observations_of(biased, 0);
  REQUIRE(observations.size() == 3);
  CHECK(observations[0].what == Characteristic::plate_current);
  CHECK(observations[0].value == 1.2e-3);
}

TEST_CASE("published numbers keep their say beside many readings") {
  PublishedPoint p = point(250, 1.2e-3);
  p.grid_v = -2;
  const std::vector<PublishedPoint> points{p};
  CHECK(observations_of(points, 300)[0].uncertainty < 0.2 * observations_of(points, 0)[0].uncertainty);
}

TEST_CASE("readings of no current are left out, small and large ones count less") {
  const std::vector<CurvePoint> curve{{0, 100, 0}, {0, 100, 0.02e-3}, {0, 100, 1e-3}, {0, 100, 3e-3}};
  const auto observations = observations_of(curve, 1e-3);
  REQUIRE(observations.size() == 3);
  const auto share = [&](std::size_t k) { return observations[k].uncertainty / observations[k].value; };
  CHECK(share(0) > 2 * share(1));
  CHECK(share(2) > 2 * share(1));
}
