#include "results/describe/stress.h"

#include <cmath>

namespace antiphase {

Stress stress_of(const Design& d, const Evaluation& e) {
  const OperatingPoint& rest = e.operating_point;
  const SteadyState& driven = e.at_target;
  Stress s;
  s.plate_dissipation_rest_w = rest.plate_dissipation_w;
  s.plate_dissipation_mean_w = driven.plate_dissipation_w;
  s.cathode_current_mean_a = driven.cathode_current_mean_a;
  s.cathode_current_peak_a = driven.cathode_current_peak_a;
  s.plate_to_cathode_rest_v = rest.plate_to_cathode_v;
  s.plate_to_cathode_peak_v = driven.plate_to_cathode_peak_v;
  s.plate_cold_start_v = cold_supply_v(d);
  s.cathode_to_heater_rest_v = rest.cathode_v - d.heater_v;
  const double low = driven.cathode_low_v - d.heater_v, high = driven.cathode_high_v - d.heater_v;
  s.cathode_to_heater_peak_v = std::abs(low) > std::abs(high) ? low : high;
  return s;
}

}  // namespace antiphase
