#include <algorithm>
#include <cmath>

#include "stagemodels/tubes/fit.h"

namespace antiphase {
namespace {

/// Grid voltages between which small triodes are driven, with room to spare.
constexpr double kGridLow = -500, kGridHigh = 50;

/// Newton's method on the logarithm of the current, which is nearly straight, kept within a bracket: every
/// law's plate current rises with the grid. Ends at the resolution of doubles.
std::optional<double> grid_for_current(const TriodeLaw& law, double plate_v, double current_a) {
  double low = kGridLow, high = kGridHigh;
  if (currents_at(law, low, plate_v).plate_a > current_a) return std::nullopt;
  if (currents_at(law, high, plate_v).plate_a < current_a) return std::nullopt;
  constexpr double kClose_v = 1e-13;
  double grid_v = 0;
  for (int k = 0; k < 100 && high - low > kClose_v; ++k) {
    const TriodeCurrents c = currents_at(law, grid_v, plate_v);
    (c.plate_a < current_a ? low : high) = grid_v;
    const double step = c.plate_a > 0 && c.plate_per_grid_s > 0
                            ? std::log(current_a / c.plate_a) * c.plate_a / c.plate_per_grid_s
                            : INFINITY;
    const double next = grid_v + step;
    if (std::abs(step) < kClose_v) break;
    grid_v = next > low && next < high ? next : 0.5 * (low + high);
  }
  return grid_v;
}

}  // namespace

std::optional<double> characteristic_of(const TriodeLaw& law, const FitObservation& o) {
  const std::optional<double> grid_v = o.grid_v ? o.grid_v : grid_for_current(law, o.plate_v, o.at_current_a);
  if (!grid_v) return std::nullopt;
  const TriodeCurrents c = currents_at(law, *grid_v, o.plate_v);
  double value = 0;
  switch (o.what) {
    case Characteristic::plate_current:
      value = c.plate_a;
      break;
    case Characteristic::gm:
      value = c.plate_per_grid_s;
      break;
    case Characteristic::mu:
      value = c.plate_per_grid_s / c.plate_per_plate_s;
      break;
    case Characteristic::rp:
      value = 1 / c.plate_per_plate_s;
      break;
  }
  if (!std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace antiphase
