#include "stagemodels/tubes/island_triode.h"

#include "stagemodels/tubes/vector_math.h"

namespace antiphase {
namespace {

constexpr double kHoldWidth = 0.3;  // of hold_from_v: how soon the grid's hold changes

/// S^1.5 of one part of the cathode, and its derivatives by the voltage u and by the foot's width d.
struct Part {
  double value, by_u, by_d;
};

inline Part part(double u, double d, double by_width) {
  const double x = u * by_width;
  const Softplus s = softplus(x);
  const double S = d * s.value, root = std::sqrt(S), slope = 1.5 * root;
  return {S * root, slope * s.slope, slope * (s.value - x * s.slope)};
}

}  // namespace

ANTIPHASE_WIDE
void IslandTriode::currents(const double* grid_v, const double* plate_v, int instants,
                            TriodeRows& out) const {
  // Locals, so that the compiler need not fear that the rows overlap the parameters.
  const double by_mu = 1 / mu, by_open_mu = 1 / (mu * open_mu_share), loss = 0.5 * (1 - hold_share);
  const double from = hold_from_v, width2 = kHoldWidth * kHoldWidth * from * from;
  const double offset = contact_v - loss * (std::sqrt(from * from + width2) - from);
  const double foot = foot_v, foot_by_plate = foot_share * by_mu, knee2 = knee_v * knee_v;
  const double open = perveance * open_share, closed = perveance - open;
  constexpr double kLeastPlate_v = 1e-9;  // below, the current is zero: keeps the square root off zero
  double* const i = out.plate_a.data();
  double* const per_grid = out.plate_per_grid_s.data();
  double* const per_plate = out.plate_per_plate_s.data();
  double* const grid = out.grid_a.data();
  double* const grid_slope = out.grid_per_grid_s.data();
#pragma GCC ivdep
  for (int k = 0; k < instants; ++k) {
    const bool conducts = plate_v[k] > kLeastPlate_v;
    const double va = conducts ? plate_v[k] : 1.0, below = -grid_v[k] - from;
    const double bend = std::sqrt(below * below + width2);
    const double hold = offset + grid_v[k] + loss * (below + bend), by_grid = 1 - loss * (1 + below / bend);
    const double d = foot + foot_by_plate * va, by_width = 1 / d;
    const Part well = part(hold + va * by_mu, d, by_width), less = part(hold + va * by_open_mu, d, by_width);
    const double by_root = 1 / std::sqrt(knee2 + va * va), share = va * by_root;
    const double space = closed * well.value + open * less.value;
    const double by_hold = closed * well.by_u + open * less.by_u;
    const double by_plate = closed * (well.by_u * by_mu + well.by_d * foot_by_plate) +
                            open * (less.by_u * by_open_mu + less.by_d * foot_by_plate);
    i[k] = conducts ? share * space : 0.0;
    per_grid[k] = conducts ? share * by_hold * by_grid : 0.0;
    per_plate[k] = conducts ? share * by_plate + space * knee2 * by_root * by_root * by_root : 0.0;
    grid[k] = 0;
    grid_slope[k] = 0;
  }
}

}  // namespace antiphase
