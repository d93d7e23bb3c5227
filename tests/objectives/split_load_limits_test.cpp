// What lies between cathode and heater of a split load: its cathode is an output, so that the signal counts
// in full. The limit on the peak of both together is that of the tube data sheets ("heater to cathode, peak,
// total DC and peak").
#include <doctest/doctest.h>

#include <algorithm>

#include "objectives/demands.h"
#include "objectives/limits/catalogue.h"
#include "objectives/limits/result.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("the heater of a split load sees the cathode at rest and the swing of output 2 on top") {
  Tube tube = tube_with(kKoren12AU7);
  tube.ratings.heater_cathode_v_max_cathode_positive = {100, "test"};
  Design d;
  d.circuit = CircuitKind::split_load;
  d.tube = {&tube, &tube};
  d.supply_v = 300;
  d.plate_ohm = {22e3, 22e3};
  d.bias.form = BiasForm::direct_coupled;
  d.bias.grid_v = 75;
  d.load_ohm = 220e3;
  for (const double swing_v : {5.0, 25.0}) {
    d.swing_peak_v = swing_v;
    for (const double heater_v : {0.0, 40.0}) {
      d.heater_v = heater_v;
      Evaluation e;
      evaluate(d, Depth::at_target, e);
      REQUIRE(e.at_target.solved == Solved::yes);
      const auto all = check_limits(d, e, {});
      const auto it = std::find_if(all.begin(), all.end(),
                                   [](const LimitResult& r) { return r.name == "cathode_above_heater_v"; });
      REQUIRE(it != all.end());
      // Both outputs swing alike, so that output 2 has the target; a quadratic curve moves the mean as far as
      // its second harmonic reaches, higher ones less.
      const double shift = 2 * e.at_target.thd_pct[1] / 100 * swing_v;
      CHECK(within(it->value, e.operating_point.cathode_v + swing_v - heater_v, shift));
      CHECK(shift < 0.5);
      CHECK(it->limit <= 100);
      CHECK(it->kept == (it->value <= it->limit));
    }
  }
}

TEST_CASE(
    "behind a gain stage it is the splitter's cathode that the heater has to follow, not the first one's") {
  Tube tube = tube_with(kKoren12AU7);
  tube.ratings.heater_cathode_v_max_cathode_positive = {60, "test"};
  tube.ratings.heater_cathode_v_max_cathode_negative = {60, "test"};
  Design d;
  d.circuit = CircuitKind::gain_and_split_load;
  d.tube = {&tube, &tube};
  d.first_stage.tube = &tube;
  d.first_stage.plate_ohm = 100e3;
  d.first_stage.cathode_ohm = 1e3;
  d.supply_v = 320;
  d.plate_ohm = {27e3, 27e3};
  d.bias.form = BiasForm::direct_coupled;
  d.load_ohm = 220e3;
  d.swing_peak_v = 10;
  const auto find = [](const std::vector<LimitResult>& all, std::string_view name, int section) {
    return std::find_if(all.begin(), all.end(),
                        [&](const LimitResult& r) { return r.name == name && r.section == section; });
  };
  for (const double heater_v : {0.0, 50.0, 100.0}) {
    d.heater_v = heater_v;
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    const double cathode_v = e.operating_point.cathode_v, first_v = e.operating_point.first.cathode_v;
    REQUIRE(cathode_v > 70);  // on the first plate, which stands where its resistor leaves it
    REQUIRE(first_v < 10);
    const auto all = check_limits(d, e, {});
    const auto above = find(all, "cathode_above_heater_v", 1);
    const double highest = cathode_v + d.swing_peak_v - heater_v;
    if (highest > 0) {
      REQUIRE(above != all.end());
      const double shift = 2 * e.at_target.thd_pct[1] / 100 * d.swing_peak_v;
      CHECK(within(above->value, highest, shift));
      CHECK(above->kept == (above->value <= above->limit));
    }
    // A heater raised for the splitter stands above the first stage's cathode.
    const auto below = find(all, "cathode_below_heater_v", kFirstStageSection);
    if (heater_v == 0) {
      CHECK(below == all.end());
      continue;
    }
    REQUIRE(below != all.end());
    // Bypassed, the first cathode stands still under the signal, a little higher than at rest.
    const double lowest = std::min(first_v, e.at_target.first.cathode_low_v);
    CHECK(within(below->value, heater_v - lowest, 1e-9 * heater_v));
    CHECK(below->kept == (heater_v == 50));
  }
}

TEST_CASE("a limit on the ratio of a split load's resistors calls them by where they stand") {
  const Tube tube = tube_with(kKoren12AU7);
  Design d;
  d.circuit = CircuitKind::split_load;
  d.tube = {&tube, &tube};
  d.plate_ohm = {22e3, 22e3};
  d.bias.form = BiasForm::direct_coupled;
  d.bias.grid_v = 75;
  Demands demands;
  demands.limits.push_back({.figure = find_figure("plate_ohm_ratio"), .at_most = 1});
  Evaluation e;
  evaluate(d, Depth::rest, e);
  const auto label = [&] {
    const auto all = check_demands(demands, d, e);
    const auto it = std::find_if(all.begin(), all.end(),
                                 [](const LimitResult& r) { return r.name == "plate_ohm_ratio"; });
    return it == all.end() ? std::string() : std::string(it->label);
  };
  CHECK(label() == "cathode load over plate load");
  d.circuit = CircuitKind::long_tailed_pair;
  evaluate(d, Depth::rest, e);
  CHECK(label() == "plate resistor 2 over 1");
}
