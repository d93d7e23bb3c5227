#include "results/describe/stress.h"

#include <doctest/doctest.h>

#include "tests/results/support/sample_report.h"

using namespace antiphase;

TEST_CASE("cathode to heater counts from the heater's own voltage, and its peak is the far one") {
  Design d = sample::self_biased_pair();
  d.heater_v = 50;
  Evaluation e;
  e.operating_point.cathode_v = 80;
  e.at_target.cathode_low_v = 78;
  e.at_target.cathode_high_v = 82;
  CHECK(stress_of(d, e).cathode_to_heater_rest_v == 30);
  CHECK(stress_of(d, e).cathode_to_heater_peak_v == 32);
  d.heater_v = 100;  // the cathode is below the heater now
  CHECK(stress_of(d, e).cathode_to_heater_rest_v == -20);
  CHECK(stress_of(d, e).cathode_to_heater_peak_v == -22);
  CHECK(stress_of(d, e).plate_cold_start_v == d.supply_v);
  d.main_supply_v = 400;
  CHECK(stress_of(d, e).plate_cold_start_v == 400);
}
