#include "stagemodels/circuits/common_cathode.h"

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {

CommonCathode::CommonCathode(const Design& design)
    : design_(design),
      plate_(1 / design.plate_ohm[0]),
      load_(1 / design.load_ohm),
      bare_ohm_(design.cathode_unbypassed_ohm),
      bypassed_ohm_(design.cathode_ohm - design.cathode_unbypassed_ohm) {}

bool CommonCathode::guess_rest(State& state) const {
  const auto excess = [&](double current) {
    const double vk = current * design_.cathode_ohm;
    return currents_at(law(0), -vk, design_.supply_v - current / plate_ - vk).plate_a - current;
  };
  // At zero current the section wants some; at the short-circuit current it has no plate voltage.
  const ScalarRoot root = find_root(excess, 0.0, design_.supply_v * plate_, 1e-12);
  if (!root.found) return false;
  state.x[plate][0] = state.y[capacitor_1] = design_.supply_v - root.x / plate_;
  state.x[cathode][0] = root.x * design_.cathode_ohm;
  state.y[bypass] = root.x * bypassed_ohm_;
  state.y[grid_1] = 0;
  state.y[drive] = 0;
  return true;
}

void CommonCathode::assemble(const Instants& instants, const State& state,
                             CycleEquations<kLocal, kBorder>& eq) const {
  const int n = instants.count;
  alignas(64) Row grid_to_cathode, plate_to_cathode;
  TriodeRows s;
  for (int k = 0; k < n; ++k) {
    grid_to_cathode[k] = state.y[grid_1] + state.y[drive] * instants.cosine[k] - state.x[cathode][k];
    plate_to_cathode[k] = state.x[plate][k] - state.x[cathode][k];
  }
  std::visit([&](const auto& l) { l.currents(grid_to_cathode.data(), plate_to_cathode.data(), n, s); },
             law(0));

  for (auto& row : eq.G_y) row.fill(0);

  // The cathode's equation is one of voltages; over the whole resistance it counts as a current.
  const double as_current = 1 / design_.cathode_ohm;
  double plate_mean = 0, cathode_current_mean = 0, grid_current_mean = 0;
  for (int k = 0; k < n; ++k) {
    const double vp = state.x[plate][k], vk = state.x[cathode][k];
    const double w = instants.mean[k], cosine = instants.cosine[k];
    const double gm = s.plate_per_grid_s[k], gp = s.plate_per_plate_s[k], gg = s.grid_per_grid_s[k];
    const double into_cathode = s.plate_a[k] + s.grid_a[k];
    const double bare = bare_ohm_ * as_current;
    eq.F[plate][k] = (design_.supply_v - vp) * plate_ - (vp - state.y[capacitor_1]) * load_ - s.plate_a[k];
    eq.F_x[plate][plate][k] = -plate_ - load_ - gp;
    eq.F_x[plate][cathode][k] = gm + gp;
    eq.F_y[plate][drive][k] = -gm * cosine;
    eq.F_y[plate][grid_1][k] = -gm;
    eq.F_y[plate][capacitor_1][k] = load_;
    eq.F_y[plate][bypass][k] = 0;
    eq.F[cathode][k] = bare * into_cathode - (vk - state.y[bypass]) * as_current;
    eq.F_x[cathode][plate][k] = bare * gp;
    eq.F_x[cathode][cathode][k] = -bare * (gm + gp + gg) - as_current;
    eq.F_y[cathode][drive][k] = bare * (gm + gg) * cosine;
    eq.F_y[cathode][grid_1][k] = bare * (gm + gg);
    eq.F_y[cathode][capacitor_1][k] = 0;
    eq.F_y[cathode][bypass][k] = as_current;

    plate_mean += w * vp;
    cathode_current_mean += w * into_cathode;
    grid_current_mean += w * s.grid_a[k];
    eq.G_x[capacitor_1][plate][k] = w;
    eq.G_x[bypass][plate][k] = -bypassed_ohm_ * w * gp;
    eq.G_x[bypass][cathode][k] = bypassed_ohm_ * w * (gm + gp + gg);
    eq.G_y[bypass][drive] -= bypassed_ohm_ * w * (gm + gg) * cosine;
    eq.G_y[bypass][grid_1] -= bypassed_ohm_ * w * (gm + gg);
    const double leak_drop = design_.grid_leak_ohm * w * gg;
    eq.G_x[grid_1][cathode][k] = -leak_drop;
    eq.G_y[grid_1][drive] += leak_drop * cosine;
    eq.G_y[grid_1][grid_1] += leak_drop;
  }
  eq.G[capacitor_1] = plate_mean - state.y[capacitor_1];
  eq.G_y[capacitor_1][capacitor_1] = -1;
  eq.G[bypass] = state.y[bypass] - bypassed_ohm_ * cathode_current_mean;
  eq.G_y[bypass][bypass] = 1;
  eq.G[grid_1] = state.y[grid_1] + design_.grid_leak_ohm * grid_current_mean;
  eq.G_y[grid_1][grid_1] += 1;
}

void CommonCathode::describe(const Instants& instants, const State& state, Waveforms& out) const {
  out.instants = instants.count;
  out.drive = instants.cosine;
  out.cathode_v = state.x[cathode];
  out.plate_v[0] = state.x[plate];
  for (int k = 0; k < instants.count; ++k) {
    const double vp = state.x[plate][k], vk = state.x[cathode][k];
    out.output_v[0][k] = vp - state.y[capacitor_1];
    out.plate_current_a[0][k] = (design_.supply_v - vp) * plate_ - out.output_v[0][k] * load_;
    out.grid_to_cathode_v[0][k] = state.y[grid_1] + state.y[drive] * instants.cosine[k] - vk;
    out.grid_current_a[0][k] =
        has_grid_current(law(0)) ? currents_at(law(0), out.grid_to_cathode_v[0][k], vp - vk).grid_a : 0.0;
    out.tail_v[k] = vk;
  }
}

}  // namespace antiphase
