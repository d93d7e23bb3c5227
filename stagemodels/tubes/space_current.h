/// What a cathode sends through grid and screen, however the electrodes beyond share it.
#pragma once

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {

struct SpaceCurrent {
  double a = 0, per_grid_s = 0, per_equivalent_s = 0;
};

/// 2 E^ex / kg with E = (w / kp) ln(1 + exp(kp (1/mu + vg / w))); nothing for w <= 0. `law` has mu, ex, kg
/// and kp; `w`: the screen's voltage with what the plate's counts there, V. Source: N. Koren, Glass Audio 8
/// (1996) no. 5.
template <class Law>
SpaceCurrent space_current(const Law& law, double grid_v, double w) {
  constexpr double kLeast_v = 1e-9;  // below, nothing flows: keeps the quotient finite
  if (!(w > kLeast_v)) return {};
  const Softplus s = softplus(law.kp * (1 / law.mu + grid_v / w));
  const double E = w / law.kp * s.value;
  if (!(E > kLeastBase)) return {};
  const double shape = 2 / law.kg * power(E, law.ex - 1);
  const double slope = law.ex * shape;  // d ik / d E
  return {shape * E, slope * s.slope, slope * (s.value / law.kp - s.slope * grid_v / w)};
}

}  // namespace antiphase
