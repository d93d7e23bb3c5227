#include "stagemodels/tubes/koren_1996.h"

#include "stagemodels/tubes/softplus.h"

namespace antiphase {
namespace {
// Below this E1 the current is far under any meter and E1^(ex-1) could overflow.
constexpr double kSmallestE1 = 1e-150;
}  // namespace

void Koren1996::currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const {
  const double scale = 2 / kg1;
  for (int k = 0; k < instants; ++k) {
    const double vg = grid_v[k] + vct, va = plate_v[k];
    double i = 0, per_grid = 0, per_plate = 0;
    if (va > 0) {
      const double root = std::sqrt(kvb + va * va);
      const Softplus s = softplus(kp * (1 / mu + vg / root));
      const double E1 = va / kp * s.value;
      if (E1 > kSmallestE1) {
        const double power = scale * std::pow(E1, ex - 1);
        const double slope = ex * power;  // d ia / d E1
        const double ratio = va / root;
        i = power * E1;
        per_grid = slope * ratio * s.slope;
        per_plate = slope * (s.value / kp - ratio * ratio * vg / root * s.slope);
      }
    }
    out.plate_a[k] = i;
    out.plate_per_grid_s[k] = per_grid;
    out.plate_per_plate_s[k] = per_plate;
    out.grid_a[k] = 0;
    out.grid_per_grid_s[k] = 0;
  }
}

}  // namespace antiphase
