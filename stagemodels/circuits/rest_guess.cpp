#include "stagemodels/circuits/rest_guess.h"

#include "stagemodels/circuits/single_section.h"

namespace antiphase {

bool guess_driver(const Circuit& c, const Design& d, NodeVolts& v) {
  constexpr double kToleratedShare = 1e-6;  // of the most that could flow
  const Driver& driver = d.driver;
  const bool pair = driver.form == DriverForm::long_tailed_pair;
  const double cathode_ohm = pair ? 2 * driver.cathode_ohm : driver.cathode_ohm;  // of one section's current
  const double plate_ohm = pair ? driver.plate_ohm : 0, span_v = v[c.supply] - driver.rail_v;
  for (int i = 0; i < 2; ++i) {
    const double current = rest_current_a({.section = d.driver_section(i),
                                           .supply_v = span_v,
                                           .ohm = plate_ohm + cathode_ohm,
                                           .grid_v = driver.bias_v - driver.rail_v,
                                           .bias_ohm = cathode_ohm},
                                          kToleratedShare * span_v / (plate_ohm + cathode_ohm));
    if (current < 0) return false;
    const Element& section = *c.section(kDriver + i);
    v[section.b] = driver.bias_v;
    v[section.c] = driver.rail_v + current * cathode_ohm;
    if (pair) v[section.a] = v[c.supply] - current * plate_ohm;
  }
  return true;
}

}  // namespace antiphase
