#include "results/describe/plate_currents.h"

#include <algorithm>
#include <cmath>

#include "results/plots/nice_steps.h"
#include "stagemodels/tubes/fit_data.h"

namespace antiphase {
namespace {

constexpr int kMostPlates = 8, kMostGrids = 10;  // what a terminal of 80 columns holds
constexpr double kCutOffShare = 0.02;            // of the typical current
constexpr double kUsualCurrent_a = 5e-3;         // of a small triode whose card has no point
constexpr double kDeepestGrid_v = 200;
constexpr double kRounding = 1e-9;  // of a step, so that 6 x 50 V counts as 300 V

/// How far the grid has to be below the cathode for `least_a`, V.
double cut_off_v(const TriodeLaw& law, double plate_v, double least_a) {
  double above = 0, below = 1;
  while (below < kDeepestGrid_v && currents_at(law, -below, plate_v).plate_a > least_a)
    above = below, below *= 2;
  constexpr int kHalvings = 20;
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = 0.5 * (above + below);
    (currents_at(law, -middle, plate_v).plate_a > least_a ? above : below) = middle;
  }
  return below;
}

}  // namespace

PlateCurrents plate_currents(const Tube& tube, const TriodeLaw& law) {
  PlateCurrents table;
  const double most_v = tube.ratings.plate_v_max ? tube.ratings.plate_v_max->value : 300;
  const double plate_step = nice_above(most_v / kMostPlates);
  for (int k = 1; k * plate_step <= most_v * (1 + kRounding); ++k) table.plate_v.push_back(k * plate_step);
  const double typical_a = typical_current_a(tube.published_points, {});
  const double least_a = kCutOffShare * (typical_a > 0 ? typical_a : kUsualCurrent_a);
  const double deepest = cut_off_v(law, table.plate_v.back(), least_a);
  const double grid_step = nice_above(deepest / kMostGrids);
  for (int k = 0; k * grid_step <= deepest + kRounding; ++k)
    table.grid_v.push_back(k == 0 ? 0 : -k * grid_step);
  for (const double grid_v : table.grid_v) {
    std::vector<double>& row = table.current_a.emplace_back();
    for (const double plate_v : table.plate_v) row.push_back(currents_at(law, grid_v, plate_v).plate_a);
  }
  return table;
}

}  // namespace antiphase
