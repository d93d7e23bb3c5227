#include "results/describe/part_burdens.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "objectives/builds/faulty_parts.h"
#include "tests/results/support/part_line.h"
#include "tests/results/support/sample_report.h"
#include "tests/support/within.h"

using namespace antiphase;
using sample::part;

TEST_CASE("a dropping resistor is rated for the pulse that charges the reservoir") {
  Evaluation e;
  e.operating_point.solved = Solved::yes;
  e.operating_point.supply_v = 415;
  Design d = sample::self_biased_pair(sample::tube_without_current());
  d.supply_v = 0;
  d.main_supply_v = 430;
  d.dropping_ohm = 1.5e3;
  d.reservoir_f = 150e-6;
  const PartLine dropper = part(parts_list(d, e, {}), "dropping resistor");
  const Burden* pulse = burden_of(dropper.burdens, Cause::switch_on);
  REQUIRE(pulse);
  CHECK(within_ratio(*pulse->power_w, 430.0 * 430 / 1500, 1e-9));       // V^2/R: 123 W
  CHECK(within_ratio(*pulse->energy_j, 150e-6 * 430 * 430 / 2, 1e-9));  // CV^2/2: 13.9 J
  CHECK(within_ratio(*pulse->time_constant_s, 1500 * 150e-6, 1e-9));    // RC: 0.225 s
  // 123 W / 6.25 = 19.7 W, far beyond film; a tenth of 123 W of a wirewound type is 12.3 W
  CHECK(dropper.rating_w == 15);
  CHECK(dropper.type == "wirewound");
  CHECK(dropper.rating_w_for == Cause::switch_on);
  CHECK(dropper.note.find("123 W") != std::string::npos);
  CHECK(dropper.note.find("13.9 J") != std::string::npos);
  CHECK(dropper.note.find("fuse") != std::string::npos);
}

TEST_CASE("ratings follow from the worst cause, each by its own rule") {
  const auto of = [](Cause cause, double watt, double tau_s = 0) {
    Burden b;
    b.cause = cause;
    b.power_w = watt;
    if (tau_s > 0) b.time_constant_s = tau_s;
    return b;
  };
  const auto watts = [](const std::vector<Burden>& burdens) { return power_rating(burdens, 0.5); };
  CHECK(watts({of(Cause::rest, 0.24)}).rating_w == 0.5);                       // half of it
  CHECK(watts({of(Cause::rest, 0.24), of(Cause::fault, 0.9)}).rating_w == 1);  // a fault may take all of it
  CHECK(watts({of(Cause::rest, 0.24), of(Cause::fault, 0.9)}).decided_by == Cause::fault);
  CHECK(watts({of(Cause::rest, 0.24), of(Cause::fault, 0.4)}).decided_by == Cause::rest);
  CHECK(watts({of(Cause::switch_on, 6, 0.1)}).rating_w == 1);  // 6 W / 6.25
  CHECK_FALSE(watts({of(Cause::switch_on, 6, 0.1)}).wirewound);
  CHECK(watts({of(Cause::switch_on, 25, 0.1)}).rating_w == 5);  // 4 W of film is none; a tenth of 25 W
  CHECK(watts({of(Cause::switch_on, 25, 0.1)}).wirewound);
  CHECK(watts({of(Cause::switch_on, 6, 20)}).rating_w == 7);  // its power takes 10 s to fall: no short pulse
  CHECK(watts({of(Cause::switch_on, 6)}).rating_w == 7);      // and so where its time is not known
  CHECK_FALSE(watts({}).rating_w.has_value());

  Burden cold, fault;
  cold.cause = Cause::cold;
  cold.voltage_v = 330;
  fault.cause = Cause::fault;
  fault.voltage_v = 430;
  const auto row = VoltageRow::electrolytic_capacitor;
  CHECK(voltage_rating({cold}, row, 0.8).rating_v == 450);                   // 412.5 V
  CHECK(voltage_rating({cold, fault}, row, 0.8).rating_v == 450);            // 430 V, whole
  CHECK(voltage_rating({cold, fault}, row, 0.8).decided_by == Cause::cold);  // which alone asks for as much
  fault.voltage_v = 480;
  CHECK(voltage_rating({cold, fault}, row, 0.8).rating_v == 500);
  CHECK(voltage_rating({cold, fault}, row, 0.8).decided_by == Cause::fault);
}

TEST_CASE("under a fault a plate resistor bears what the broken circuit leaves across it") {
  for (const Design& d : {sample::self_biased_pair(), sample::direct_pair()}) {
    const Record r = sample::record(d);
    const PartLine plate = part(parts_list(d, r.evaluation, {}), "plate resistor 1");
    double worst_v = 0;
    for (const Defect& defect : defects_of(d)) {  // the measuring sheet's walk through the same faults
      if (defect.none() || defect.seen_in_ac_only || defect.name == "plate_resistor_1_open") continue;
      if (defect.name == "tail_shorted" || defect.name == "bias_resistor_shorted")
        continue;  // they fail open
      const DefectPoint broken = solve_defect(d, defect);
      if (broken.point.solved == Solved::yes)
        worst_v = std::max(worst_v, broken.point.supply_v - broken.point.plate_v[0]);
    }
    const Burden* fault = burden_of(plate.burdens, Cause::fault);
    REQUIRE(fault);
    CHECK(within_ratio(*fault->voltage_v, worst_v, 1e-9));
    CHECK(within_ratio(*fault->power_w, worst_v * worst_v / d.plate_ohm[0], 1e-9));
    CHECK(*fault->power_w > *plate.power_rest_w);
    CHECK_FALSE(fault->which.empty());
    CHECK(*plate.rating_w >= *fault->power_w);
  }
}
