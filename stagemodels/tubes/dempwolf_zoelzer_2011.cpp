#include "stagemodels/tubes/dempwolf_zoelzer_2011.h"

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {
namespace {

struct Powered {
  double value, slope;  // scale (S(c u)/c)^exponent and its derivative by u
};

inline Powered powered(double scale, double c, double u, double exponent) {
  const Softplus s = softplus(c * u);
  const double base = s.value / c;
  const bool some = base > kLeastBase;
  const double shape = scale * power(some ? base : 1.0, exponent - 1);
  return {some ? shape * base : 0.0, some ? exponent * shape * s.slope : 0.0};
}

}  // namespace

ANTIPHASE_WIDE
void DempwolfZoelzer2011::currents(const double* grid_v, const double* plate_v, int instants,
                                   TriodeRows& out) const {
  const DempwolfZoelzer2011 p = *this;  // a copy, so that the rows cannot overlap it
  const double by_mu = 1 / p.mu;
  double* const i = out.plate_a.data();
  double* const per_grid = out.plate_per_grid_s.data();
  double* const per_plate = out.plate_per_plate_s.data();
  double* const grid_a = out.grid_a.data();
  double* const grid_slope = out.grid_per_grid_s.data();
#pragma GCC ivdep
  for (int k = 0; k < instants; ++k) {
    const Powered cathode = powered(p.g, p.c, plate_v[k] * by_mu + grid_v[k], p.gamma);
    const Powered grid = powered(p.gg, p.cg, grid_v[k], p.xi);
    i[k] = cathode.value - grid.value - p.ig0;
    per_grid[k] = cathode.slope - grid.slope;
    per_plate[k] = cathode.slope * by_mu;
    grid_a[k] = grid.value + p.ig0;
    grid_slope[k] = grid.slope;
  }
}

}  // namespace antiphase
