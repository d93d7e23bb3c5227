#include <algorithm>
#include <cmath>

#include "stagemodels/tubes/fit.h"

namespace antiphase {
namespace {

/// Grid voltages between which small triodes are driven, with room to spare.
constexpr double kGridLow = -500, kGridHigh = 50;

/// Bisection: every law's plate current rises with the grid. Stops at the resolution of doubles.
std::optional<double> grid_for_current(const TriodeLaw& law, double plate_v, double current_a) {
  double low = kGridLow, high = kGridHigh;
  if (currents_at(law, low, plate_v).plate_a > current_a) return std::nullopt;
  if (currents_at(law, high, plate_v).plate_a < current_a) return std::nullopt;
  for (int k = 0; k < 60; ++k) {
    const double middle = 0.5 * (low + high);
    (currents_at(law, middle, plate_v).plate_a < current_a ? low : high) = middle;
  }
  return 0.5 * (low + high);
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
