#include "stagemodels/hand_estimate.h"

#include <array>
#include <cmath>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr double kLowestGrid_v = -400, kHighestGrid_v = 50;  // wider than any small triode's range

/// Current where the plate curve of `grid_v` crosses the line.
double current_on_line(const TriodeLaw& law, const LoadLine& line, double grid_v) {
  const auto excess = [&](double i) {
    return currents_at(law, grid_v, line.supply_v - i * line.load_ohm).plate_a - i;
  };
  return find_root(excess, 0.0, line.supply_v / line.load_ohm, 1e-13).x;
}

struct FiveOrdinates {
  double fundamental, thd_pct;
};

FiveOrdinates five_ordinates(const TriodeLaw& law, const LoadLine& line, double rest_grid_v, double drive_v) {
  std::array<double, 5> i{};
  constexpr std::array<double, 5> kShare{1, 0.5, 0, -0.5, -1};
  for (std::size_t n = 0; n < 5; ++n) i[n] = current_on_line(law, line, rest_grid_v + kShare[n] * drive_v);
  const double h1 = (i[0] + i[1] - i[3] - i[4]) / 3;
  const double h2 = (i[0] - 2 * i[2] + i[4]) / 4;
  const double h3 = (i[0] - 2 * i[1] + 2 * i[3] - i[4]) / 6;
  const double h4 = (i[0] - 4 * i[1] + 6 * i[2] - 4 * i[3] + i[4]) / 12;
  return {h1 * line.load_ohm, h1 > 0 ? 100 * std::sqrt(h2 * h2 + h3 * h3 + h4 * h4) / h1 : 0};
}

}  // namespace

HandEstimate hand_estimate(const TriodeLaw& law, const LoadLine& line, double swing_peak_v) {
  HandEstimate out;
  out.ac_load_ohm = line.load_ohm;
  out.line_supply_v = line.supply_v;
  out.rest_current_a = line.rest_current_a;
  out.rest_plate_v = line.supply_v - line.rest_current_a * line.load_ohm;
  if (!(out.rest_plate_v > 0) || !(line.rest_current_a > 0)) return out;
  const ScalarRoot grid = find_root(
      [&](double vg) { return currents_at(law, vg, out.rest_plate_v).plate_a - line.rest_current_a; },
      kLowestGrid_v, kHighestGrid_v, 1e-10);
  if (!grid.found) return out;
  out.rest_grid_v = grid.x;
  const auto excess = [&](double drive) {
    return five_ordinates(law, line, out.rest_grid_v, drive).fundamental - swing_peak_v;
  };
  double high = 1e-3;
  while (excess(high) < 0) {
    high *= 2;
    if (high > kHighestGrid_v - kLowestGrid_v) return out;  // the line is too short for the swing
  }
  const ScalarRoot drive = find_root(excess, 0.0, high, 1e-9);
  if (!drive.found) return out;
  out.grid_drive_peak_v = drive.x;
  out.thd_pct = five_ordinates(law, line, out.rest_grid_v, drive.x).thd_pct;
  out.valid = true;
  return out;
}

}  // namespace antiphase
