#include "stagemodels/circuits/single_section.h"

#include <cmath>

namespace antiphase {

double rest_current_a(const SingleSection& s, double tolerated_a) {
  constexpr double kUsualShare = 0.35;  // of the supply that the resistors drop
  constexpr int kMostSteps = 100;
  const double most = s.supply_v / s.ohm;
  double low = 0, high = most, current = kUsualShare * most;
  for (int n = 0; n < kMostSteps; ++n) {
    const TriodeCurrents c =
        s.section.currents_at(s.grid_v - current * s.bias_ohm, s.supply_v - current * s.ohm);
    const double excess = c.plate_a - current;
    (excess > 0 ? low : high) = current;
    double next = current + excess / (1 + c.plate_per_grid_s * s.bias_ohm + c.plate_per_plate_s * s.ohm);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    const double moved = std::fabs(next - current);
    current = next;
    if (moved <= tolerated_a) return current;
  }
  return -1;
}

}  // namespace antiphase
