#include "stagemodels/tubes/measured_surface.h"

#include <algorithm>

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {

ANTIPHASE_WIDE
void MeasuredSurface::currents(const double* grid_v, const double* plate_v, int instants,
                               TriodeRows& out) const {
  Koren1996::currents(grid_v, plate_v, instants, out);
  constexpr double kLastCurrent = kAlongCurrent - 3, kLastPlate = kAlongPlate - 3;  // intervals
  constexpr double kLeastPlate_v = 1e-9;
  const double per_reference = 1 / reference_a, first_p = current_low, per_p = 1 / current_step;
  const double first_q = plate_low, per_q = 1 / plate_step;
  const double* const c = log_ratio.data();
  double* const ia = out.plate_a.data();
  double* const by_grid = out.plate_per_grid_s.data();
  double* const by_plate = out.plate_per_plate_s.data();
#pragma GCC ivdep
  for (int k = 0; k < instants; ++k) {
    const double K = ia[k] > kLeastBase ? ia[k] : kLeastBase;
    const double va = plate_v[k] > kLeastPlate_v ? plate_v[k] : kLeastPlate_v;
    const double p_all = (::log(K * per_reference) - first_p) * per_p;
    const double q_all = (::log(va / kPlate_v) - first_q) * per_q;
    const double p = p_all > 0 ? (p_all < kLastCurrent ? p_all : kLastCurrent) : 0.0;
    const double q = q_all > 0 ? (q_all < kLastPlate ? q_all : kLastPlate) : 0.0;
    const int ip_all = static_cast<int>(p), iq_all = static_cast<int>(q);
    const int ip = ip_all < static_cast<int>(kLastCurrent) ? ip_all : static_cast<int>(kLastCurrent) - 1;
    const int iq = iq_all < static_cast<int>(kLastPlate) ? iq_all : static_cast<int>(kLastPlate) - 1;
    const CubicBasis bp = cubic_basis(p - ip), bq = cubic_basis(q - iq);
    double value = 0, by_p = 0, by_q = 0;
    for (int n = 0; n < 4; ++n) {
      const double* const row = c + (iq + n) * kAlongCurrent + ip;
      const double along =
          row[0] * bp.value[0] + row[1] * bp.value[1] + row[2] * bp.value[2] + row[3] * bp.value[3];
      const double slope =
          row[0] * bp.slope[0] + row[1] * bp.slope[1] + row[2] * bp.slope[2] + row[3] * bp.slope[3];
      value += bq.value[n] * along;
      by_p += bq.value[n] * slope;
      by_q += bq.slope[n] * along;
    }
    // Beyond the knots c stands still.
    by_p = p == p_all ? by_p * per_p : 0.0;
    by_q = q == q_all ? by_q * per_q : 0.0;
    const double ratio = ::exp(value), stretch = ratio * (1 + by_p);
    by_grid[k] *= stretch;
    by_plate[k] = by_plate[k] * stretch + ratio * ia[k] * by_q / va;
    ia[k] *= ratio;
  }
}

}  // namespace antiphase
