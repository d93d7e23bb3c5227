#include "stagemodels/tubes/grid_diode.h"

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {

ANTIPHASE_WIDE
void GridDiode::add(const double* grid_v, int instants, double* grid_a, double* grid_per_grid_s) const {
  const double scale = siemens * slope_v, per_slope = 1 / slope_v, knee = knee_v, conductance = siemens;
#pragma GCC ivdep
  for (int k = 0; k < instants; ++k) {
    const double x = (grid_v[k] - knee) * per_slope;
    const Softplus sp = softplus(x);
    const bool some = x > kLeastExponent;
    grid_a[k] += some ? scale * sp.value : 0.0;
    grid_per_grid_s[k] += some ? conductance * sp.slope : 0.0;
  }
}

double GridDiode::current_a(double grid_v) const {
  if (silent_at(grid_v)) return 0;
  return siemens * slope_v * softplus((grid_v - knee_v) / slope_v).value;
}

GridDiode grid_diode(double onset_v, double series_ohm, double slope_v) {
  // ln(1 + e^x) = onset current over the scale; x from its inverse ln(e^y - 1)
  const double y = GridDiode::kOnset_a * series_ohm / slope_v;
  return {
      .siemens = 1 / series_ohm, .slope_v = slope_v, .knee_v = onset_v - slope_v * std::log(std::expm1(y))};
}

}  // namespace antiphase
