// Cautions stand where a rating is missing or a figure rests on something left out, and nowhere else.
#include <doctest/doctest.h>

#include "results/describe/cautions.h"
#include "stagemodels/sizing.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

std::vector<std::string> cautions_of(const Design& d) {
  Record r;
  r.design = d;
  evaluate(d, Depth::full, r.evaluation);
  r.limits = check_limits(d, r.evaluation, {});
  return cautions(r);
}

}  // namespace

TEST_CASE("a supply above the working rating is a caution where no cold rating is published") {
  Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.swing_peak_v = 5;
  CHECK(cautions_of(d).empty());
  tube.ratings.plate_v_max = {300, "test"};
  REQUIRE(cautions_of(d).size() == 1);
  CHECK(cautions_of(d)[0].find("320 V") != std::string::npos);
  tube.ratings.plate_cold_v_max = {550, "test"};
  CHECK(cautions_of(d).empty());
}

TEST_CASE("before warm-up the plates of a stage behind a dropping resistor stand at the main supply") {
  Tube tube = tube_with(kKoren12AX7);
  tube.ratings.plate_v_max = {350, "test"};
  Design d = pair_of(tube);
  d.swing_peak_v = 5;
  CHECK(cautions_of(d).empty());
  d.main_supply_v = 400;
  d.dropping_ohm = 10e3;
  REQUIRE(cautions_of(d).size() == 1);
  CHECK(cautions_of(d)[0].find("400 V") != std::string::npos);
}

TEST_CASE("a cold cathode on a negative rail adds the rail to the stress") {
  Tube tube = tube_with(kKoren12AX7);
  tube.ratings.plate_v_max = {350, "test"};
  Design d = pair_of(tube, BiasForm::negative_rail);
  d.swing_peak_v = 5;
  REQUIRE(cautions_of(d).size() == 1);  // 320 V and 100 V below ground
  CHECK(cautions_of(d)[0].find("420 V") != std::string::npos);
}

TEST_CASE("followers that hold the output valves' grids elsewhere than at their bias are a caution") {
  const Tube tube = tube_with(kKoren12AX7), follower = tube_with(kKoren12AU7);
  OutputValve valve;
  Design d = pair_of(tube);
  d.swing_peak_v = 5;
  d.load_ohm = 470e3;
  d.driver.form = DriverForm::cathode_followers;
  d.driver.tube = &follower;
  d.driver.cathode_ohm = 22e3;
  d.driver.rail_v = -150;
  d.output_valve = &valve;
  d.output_valve_bias_v = -40;
  set_driver_bias(d);
  REQUIRE(d.driver.bias_v < -40);
  CHECK(cautions_of(d).empty());
  d.driver.bias_v += 5;
  REQUIRE(cautions_of(d).size() == 1);
  CHECK(cautions_of(d)[0].find("its bias is -40 V") != std::string::npos);
}

TEST_CASE("a grid that conducts at the target is a caution for laws without grid current only") {
  Tube tube = tube_with(kKoren12AX7, -2);
  Design d = pair_of(tube);
  CHECK(cautions_of(d).size() == 1);
  Tube with_diode = tube;
  with_diode.grid_diode = grid_diode(-2);
  d.tube = {&with_diode, &with_diode};
  CHECK(cautions_of(d).empty());
  Tube with_grid = tube_with(kRsd2, -2);
  d.tube = {&with_grid, &with_grid};
  CHECK(cautions_of(d).empty());
}
