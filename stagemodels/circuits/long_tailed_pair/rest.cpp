#include <cmath>

#include "stagemodels/circuits/long_tailed_pair/solver.h"

namespace antiphase::pair {
namespace {

/// What the tail takes, and where the grids stand, as straight lines over the cathode's voltage, without
/// current in the leaks.
struct Lines {
  double tail_a, tail_s;    ///< current at a cathode at ground, and per volt
  double grid_v, grid_per;  ///< grids at a cathode at ground, and per volt
  double foot_v;            ///< of the tail
  double tail_at(double cathode_v) const { return tail_a + tail_s * cathode_v; }
  double grid_at(double cathode_v) const { return grid_v + grid_per * cathode_v; }
};

Lines lines_of(const Design& d, double grids_v) {
  const bool sink = d.tail.form == TailForm::constant_current;
  const double tail_s = 1 / (sink ? d.tail.output_ohm : d.tail.ohm), sink_a = sink ? d.tail.current_a : 0;
  switch (d.bias.form) {
    case BiasForm::self_biased: {
      const double bias_s = 1 / d.bias.ohm, all = bias_s + tail_s;
      const double grid_v = -sink_a / all, grid_per = bias_s / all;
      return {-grid_v * bias_s, (1 - grid_per) * bias_s, grid_v, grid_per, 0};
    }
    case BiasForm::negative_rail:
      return {sink_a - tail_s * d.bias.rail_v, tail_s, 0, 0, d.bias.rail_v};
    case BiasForm::direct_coupled:
      break;
  }
  return {sink_a, tail_s, grids_v, 0, 0};
}

}  // namespace

bool start_rest(const Circuit& c, const Design& d, double from_v, double dropping_ohm, double grids_v,
                NodeVolts& v) {
  const Lines lines = lines_of(d, grids_v);
  const TriodeSection section = d.section(0);
  const double own_ohm = 0.5 * (d.plate_ohm[0] + d.plate_ohm[1]);
  const double ohm = own_ohm + 2 * dropping_ohm;  // of one section's current
  // How much more the section passes than the tail takes; falls as the cathode rises.
  double slope = 0;
  const auto excess = [&](double vk) {
    const double each = 0.5 * lines.tail_at(vk);
    const TriodeCurrents now = section.currents_at(lines.grid_at(vk) - vk, from_v - each * ohm - vk);
    slope = now.plate_per_grid_s * (lines.grid_per - 1) -
            now.plate_per_plate_s * (1 + 0.5 * lines.tail_s * ohm) - 0.5 * lines.tail_s;
    return now.plate_a - each;
  };
  double low = lines.foot_v, high = from_v;
  double f = excess(low);
  for (double step = 1; f < 0; step *= 2) {
    high = low;
    low -= step;  // a sink pulls the cathode down until the section passes its current
    if (step > 4096) return false;
    f = excess(low);
  }
  // Newton inside the bracket, halving where it would leave it.
  constexpr double kTolerance_v = 1e-2;  // the sections differ by more
  constexpr int kMostSteps = 100;
  double vk = low;
  for (int n = 0; n < kMostSteps; ++n) {
    double next = vk - f / slope;
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    const double moved = std::fabs(next - vk);
    vk = next;
    if (moved < kTolerance_v) break;
    f = excess(vk);
    (f > 0 ? low : high) = vk;
  }
  const double each = 0.5 * lines.tail_at(vk);
  v[c.supply] = from_v - 2 * each * dropping_ohm;
  for (int i = 0; i < 2; ++i) {
    const Element& own = *c.section(i);
    v[own.a] = v[c.supply] - each * d.plate_ohm[i];
    v[own.b] = lines.grid_at(vk);
    v[own.c] = vk;
  }
  return true;
}

}  // namespace antiphase::pair
