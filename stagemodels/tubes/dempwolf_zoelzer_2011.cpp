#include "stagemodels/tubes/dempwolf_zoelzer_2011.h"

#include "stagemodels/tubes/softplus.h"

namespace antiphase {
namespace {

struct Powered {
  double value, slope;  // scale (S(c u)/c)^exponent and its derivative by u
};

Powered powered(double scale, double c, double u, double exponent) {
  constexpr double kSmallest = 1e-150;  // keeps base^(exponent-1) finite
  const Softplus s = softplus(c * u);
  const double base = s.value / c;
  if (base <= kSmallest) return {0, 0};
  const double power = scale * std::pow(base, exponent - 1);
  return {power * base, exponent * power * s.slope};
}

}  // namespace

void DempwolfZoelzer2011::currents(const double* grid_v, const double* plate_v, int instants,
                                   TriodeRows& out) const {
  for (int k = 0; k < instants; ++k) {
    const Powered cathode = powered(g, c, plate_v[k] / mu + grid_v[k], gamma);
    const Powered grid = powered(gg, cg, grid_v[k], xi);
    out.plate_a[k] = cathode.value - grid.value - ig0;
    out.plate_per_grid_s[k] = cathode.slope - grid.slope;
    out.plate_per_plate_s[k] = cathode.slope / mu;
    out.grid_a[k] = grid.value + ig0;
    out.grid_per_grid_s[k] = grid.slope;
  }
}

}  // namespace antiphase
