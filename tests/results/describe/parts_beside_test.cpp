#include "results/describe/parts_beside.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "results/text/write_quantity.h"
#include "tests/results/support/part_line.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;
using sample::part;

TEST_CASE("beside the circuit stand leaks, grid stoppers and heaters, marked as such") {
  Design d = sample::self_biased_pair();
  Tube tube = sample::tube_12ax7();
  tube.heater = {6.3, 0.3, "test"};
  tube.ratings.heater_cathode_v_max_cathode_negative = Sourced{180, "test"};
  d.tube = {&tube, &tube};
  OutputValve valve;
  d.output_valve = &valve;
  const Record r = sample::record(d);
  const auto beside = parts_beside(d, r.evaluation, {});
  const PartLine& leak = part(beside, "output valve's grid leak");
  CHECK(leak.designators == "RL1, RL2");
  CHECK(leak.value == d.load_ohm);
  CHECK(within_ratio(*leak.power_worst_w, 32.0 * 32 / 2 / 220e3, 1e-12));
  // With a shorted coupling capacitor: no more than supply and plate resistor give into it, and no less than
  // the plate does where the tube's current stays what it was, which falls with its plate.
  const Burden* shorted = burden_of(leak.burdens, Cause::fault);
  REQUIRE(shorted);
  CHECK(*shorted->voltage_v < 320 * 220e3 / (220e3 + 100e3));
  CHECK(*shorted->voltage_v > r.evaluation.operating_point.plate_v[0] * 220e3 / (220e3 + 110e3));
  CHECK(within_ratio(*shorted->power_w, *shorted->voltage_v * *shorted->voltage_v / 220e3, 1e-12));
  CHECK(*leak.rating_w >= *shorted->power_w);
  // 320 V until the capacitor is charged is no more than 80 % of 500 V
  CHECK(leak.rating_v == 500);
  CHECK(part(beside, "grid stopper").designators == "RS1, RS2");
  CHECK(part(beside, "output valve's grid stopper").designators == "RS3, RS4");
  CHECK(part(beside, "grid stopper").note.find("not in the solved circuit") != std::string::npos);
  const PartLine& heater = part(beside, "heater supply");
  CHECK(heater.designators == "H1");
  CHECK(heater.what == "6.3 V, 300 mA");  // one bottle
  // ratings 180 V at 0.9: 162 V below the highest cathode to 162 V above the lowest one
  double low = 1e9, high = -1e9;
  for (int k = 0; k < r.evaluation.waveforms.instants; ++k) {
    const double v = r.evaluation.waveforms.cathode_v[static_cast<std::size_t>(k)];
    low = std::min(low, v);
    high = std::max(high, v);
  }
  CHECK(heater.note.find(engineering_text(high - 162, "V") + " to " + engineering_text(low + 162, "V")) !=
        std::string::npos);
  // Kirchhoff's law at the supply: what both plate resistors take.
  const PartLine& supply = part(beside, "supply");
  CHECK(supply.designators == "PS1");
  CHECK(supply.is_drawn);
  const OperatingPoint& rest = r.evaluation.operating_point;
  CHECK(supply.what == engineering_text(d.supply_v, "V") + ", " +
                           engineering_text((d.supply_v - rest.plate_v[0]) / d.plate_ohm[0] +
                                                (d.supply_v - rest.plate_v[1]) / d.plate_ohm[1],
                                            "A"));
  for (const PartLine& p : beside) CHECK_FALSE(p.in_circuit);
  for (const PartLine& p : parts_list(d, r.evaluation, {})) CHECK(p.in_circuit);
  CHECK(order_list(r, {}).size() == beside.size() + parts_list(d, r.evaluation, {}).size());

  tube.ratings.heater_cathode_v_max_cathode_positive = Sourced{30, "test"};
  const auto broken = parts_beside(d, r.evaluation, {});
  CHECK((r.evaluation.operating_point.cathode_v < 27) ==
        (part(broken, "heater supply").note.find("has to change") == std::string::npos));
}
