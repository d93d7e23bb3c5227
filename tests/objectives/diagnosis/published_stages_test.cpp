// Published stages as boxes: what a sheet prints is what a meter would have read, and none of it is a fault.
#include <cstdio>

#include "tests/objectives/diagnosis/simulated_boxes.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

struct Printed {
  const char* tube;
  const char* sheet;
  double supply_v, plate_ohm, load_ohm, cathode_ohm, current_a;
};

/// The sheets print the current; voltages follow by Ohm's law. Currents are printed to 0.01 mA.
std::vector<Printed> printed() {
  std::vector<Printed> all;
  const auto block = [&](const char* tube, const char* sheet, std::vector<double> supply, double plate_ohm,
                         double load_ohm, std::vector<double> cathode_ohm, std::vector<double> ma) {
    for (std::size_t k = 0; k < supply.size(); ++k)
      all.push_back({tube, sheet, supply[k], plate_ohm, load_ohm,
                     cathode_ohm[cathode_ohm.size() == 1 ? 0 : k], 1e-3 * ma[k]});
  };
  const std::vector<double> from_200{200, 250, 300, 350, 400}, from_100{100, 150, 200, 250, 300, 350, 400};
  const char* const kEcc83 = "Philips ECC83, January 1970";
  block("12AX7", kEcc83, from_200, 47e3, 150e3, {1500, 1200, 1000, 820, 680}, {0.86, 1.18, 1.55, 1.98, 2.45});
  block("12AX7", kEcc83, from_200, 100e3, 330e3, {1800, 1500, 1200, 1000, 820},
        {0.65, 0.86, 1.11, 1.40, 1.72});
  block("12AX7", kEcc83, from_200, 220e3, 680e3, {3300, 2700, 2200, 1500, 1200},
        {0.36, 0.48, 0.63, 0.85, 1.02});
  const char* const kEcc82 = "Philips ECC82, 1959";
  block("12AU7", kEcc82, from_100, 47e3, 150e3, {1200}, {1.20, 1.82, 2.41, 3.02, 3.65, 4.30, 5.00});
  block("12AU7", kEcc82, from_100, 100e3, 330e3, {2200}, {0.66, 0.98, 1.30, 1.63, 1.97, 2.30, 2.62});
  block("12AU7", kEcc82, from_100, 220e3, 680e3, {3900}, {0.33, 0.50, 0.66, 0.82, 0.98, 1.16, 1.31});
  return all;
}

Design stage_of(const Printed& p) {
  const Tube* tube = shipped().find(p.tube);
  REQUIRE(tube);
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {tube, tube};
  d.supply_v = p.supply_v;
  d.plate_ohm[0] = p.plate_ohm;
  d.load_ohm = p.load_ohm;
  d.cathode_ohm = p.cathode_ohm;
  d.swing_peak_v = 5;
  return d;
}

void take(Taken& t, const std::vector<BenchReading>& readings, std::string_view name, double volts,
          double step_v) {
  const auto k = static_cast<std::size_t>(place_of_reading(readings, name));
  t.wanted |= 1u << k;
  t.volts[k] = volts;
  t.deviation_v[k] = meter_deviation_v(volts, kMeterAccuracy_pct, step_v);
}

}  // namespace

TEST_CASE("thirty-six published stages: none of them is called faulty") {
  constexpr double kStep_a = 1e-5;
  std::string told;
  int sound = 0, all = 0;
  double least = 1;
  for (const Printed& p : printed()) {
    const Design d = stage_of(p);
    const std::vector<BenchReading> readings = bench_readings(d);
    Taken taken;
    take(taken, readings, "supply_v", p.supply_v, 1);
    take(taken, readings, "plate_1_v", p.supply_v - p.current_a * p.plate_ohm, kStep_a * p.plate_ohm);
    take(taken, readings, "cathode_v", p.current_a * p.cathode_ohm, kStep_a * p.cathode_ohm);
    DiagnosisAsk ask;
    ask.draws = 800;
    // A sheet's own meter is not told, and its figures are those without one.
    ask.meter_ohm = 1e12;
    const Diagnosis found = diagnose(d, {}, taken, ask);
    REQUIRE(found.known);
    CAPTURE(p.sheet);
    CAPTURE(p.supply_v);
    CAPTURE(p.plate_ohm);
    CHECK(found.told.front().fault == 0);
    ++all;
    sound += found.told.front().fault == 0;
    const double none = found.probability("none");
    if (none < least) {
      least = none;
      char text[160];
      std::snprintf(text, sizeof text, "%s, %.0f V, %.0f k; current %.0f to %.0f %% of the card's type",
                    p.sheet, p.supply_v, p.plate_ohm / 1e3, 100 * found.quantity[0].low,
                    100 * found.quantity[0].high);
      told = text;
    }
  }
  MESSAGE(sound << " of " << all << " sound; least sure of it: " << std::round(100 * least) << " % (" << told
                << ")");
}

TEST_CASE("the phase-inverter block of the ECC83 is sound by its printed current") {
  // From memory: Philips ECC83 sheet: 250 V, plates 100 k, tail 68 k, grids at 65 V: 1.0 mA together.
  const Tube* tube = shipped().find("ECC83");
  REQUIRE(tube);
  Design d;
  d.tube = {tube, tube};
  d.supply_v = 250;
  d.plate_ohm = {100e3, 100e3};
  d.bias = {BiasForm::direct_coupled, 0, 65, 0};
  d.tail.ohm = 68e3;
  d.load_ohm = 330e3;
  d.swing_peak_v = 20;
  const std::vector<BenchReading> readings = bench_readings(d);
  Taken taken;
  take(taken, readings, "supply_v", 250, 1);
  take(taken, readings, "cathode_v", 68, 6.8);  // 1.0 mA to a tenth through 68 k
  const Diagnosis found = diagnose(d, {}, taken, {});
  CHECK(found.told.front().fault == 0);
}
