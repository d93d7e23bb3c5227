#include "stagemodels/tubes/koren_1996.h"

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {

ANTIPHASE_WIDE
void Koren1996::currents(const double* grid_v, const double* plate_v, int instants, TriodeRows& out) const {
  // Locals, so that the compiler need not fear that the rows overlap the parameters.
  const double scale = 2 / kg1, by_mu = 1 / mu, by_kp = 1 / kp, sharp = kp, knee = kvb, offset = vct;
  const double exponent = ex;
  constexpr double kLeastPlate_v = 1e-9;  // below, the current is zero: keeps the square root off zero
  double* const i = out.plate_a.data();
  double* const per_grid = out.plate_per_grid_s.data();
  double* const per_plate = out.plate_per_plate_s.data();
  double* const grid = out.grid_a.data();
  double* const grid_slope = out.grid_per_grid_s.data();
#pragma GCC ivdep
  for (int k = 0; k < instants; ++k) {
    const bool conducts = plate_v[k] > kLeastPlate_v;
    const double va = conducts ? plate_v[k] : 1.0, vg = grid_v[k] + offset;
    const double by_root = 1 / std::sqrt(knee + va * va);
    const Softplus s = softplus(sharp * (by_mu + vg * by_root));
    const double E1 = va * by_kp * s.value;
    const bool current = conducts && E1 > kLeastBase;
    const double shape = scale * power(current ? E1 : 1.0, exponent - 1);
    const double slope = exponent * shape;  // d ia / d E1
    const double ratio = va * by_root;
    i[k] = current ? shape * E1 : 0.0;
    per_grid[k] = current ? slope * ratio * s.slope : 0.0;
    per_plate[k] = current ? slope * (s.value * by_kp - ratio * ratio * vg * by_root * s.slope) : 0.0;
    grid[k] = 0;
    grid_slope[k] = 0;
  }
}

}  // namespace antiphase
