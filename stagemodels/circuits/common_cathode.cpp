#include "stagemodels/circuits/common_cathode.h"

#include <cmath>

#include "stagemodels/solve/scalar_root.h"
#include "stagemodels/wide.h"

namespace antiphase {

template <Surroundings kAround>
CommonCathode<kAround>::CommonCathode(const Design& design, bool)
    : design_(design),
      section_(design.section(0)),
      plate_(1 / design.plate_ohm[0]),
      load_(1 / design.load_ohm),
      leak_(1 / design.grid_leak_ohm),
      source_(1 / std::fmax(design.source_ohm, kLeastSource_ohm)),
      main_(design.main_supply_v > 0 ? 1 / design.dropping_ohm : 0),
      bare_ohm_(design.cathode_unbypassed_ohm),
      bypassed_ohm_(design.cathode_ohm - design.cathode_unbypassed_ohm) {}

template <Surroundings kAround>
bool CommonCathode<kAround>::guess_rest(State& state) const {
  const double from_v = cold_supply_v(design_);
  const double ohm = 1 / plate_ + (main_ > 0 ? 1 / main_ : 0);
  const auto excess = [&](double current) {
    const double vk = current * design_.cathode_ohm;
    return section_.currents_at(-vk, from_v - current * ohm - vk).plate_a - current;
  };
  // At zero current the section wants some; at the short-circuit current it has no plate voltage.
  const ScalarRoot root = find_root(excess, 0.0, from_v / ohm, 1e-9 * from_v / ohm);
  if (!root.found) return false;
  const double supply_v = from_v - (main_ > 0 ? root.x / main_ : 0);
  state.x[plate][0] = state.y[capacitor_1] = supply_v - root.x / plate_;
  state.x[cathode][0] = root.x * design_.cathode_ohm;
  state.y[bypass] = root.x * bypassed_ohm_;
  state.y[grid_1] = 0;
  state.y[drive] = 0;
  if constexpr (kReal) {
    state.x[grid][0] = 0;
    state.y[supply] = supply_v;
  }
  return true;
}

template <Surroundings kAround>
template <int N>
ANTIPHASE_INLINE void CommonCathode<kAround>::sweep(const Instants& instants, const State& state,
                                                    Sweep& out) const {
  for (int k = 0; k < N; ++k) {
    double vg = 0;
    if constexpr (kReal)
      vg = state.x[grid][k];
    else
      vg = state.y[grid_1] + state.y[drive] * instants.cosine[k];
    out.section.grid_v[k] = vg - state.x[cathode][k];
    out.section.plate_v[k] = state.x[plate][k] - state.x[cathode][k];
  }
  sweep_sections<N, 1>({section_, section_}, out.section);
}

template <Surroundings kAround>
template <int N>
ANTIPHASE_INLINE void CommonCathode<kAround>::local(int k, double cosine, const double (&x)[kLocal],
                                                    const std::array<double, kBorder>& y, const Sweep& s,
                                                    InstantEquations<kLocal, kBorder>& e) const {
  const TriodeRows& rows = s.section.rows;
  const double gm = rows.plate_per_grid_s[k], gp = rows.plate_per_plate_s[k], gg = rows.grid_per_grid_s[k];
  const double into_cathode = rows.plate_a[k] + rows.grid_a[k];
  double vg = 0, supply_v = 0;
  if constexpr (kReal) {
    vg = x[grid];
    supply_v = y[supply];
  } else {
    vg = y[grid_1] + y[drive] * cosine;
    supply_v = design_.supply_v;
  }
  // The cathode's equation is one of voltages; over the whole resistance it counts as a current.
  const double as_current = 1 / design_.cathode_ohm;
  const double bare = bare_ohm_ * as_current;
  const double output_v = x[plate] - y[capacitor_1];
  const double drop = design_.grid_leak_ohm;

  e.F[plate] = (supply_v - x[plate]) * plate_ - output_v * load_ - rows.plate_a[k];
  e.F_x[plate][plate] = -plate_ - load_ - gp;
  e.F_x[plate][cathode] = gm + gp;
  e.F_y[plate][capacitor_1] = load_;
  e.F[cathode] = bare * into_cathode - (x[cathode] - y[bypass]) * as_current;
  e.F_x[cathode][plate] = bare * gp;
  e.F_x[cathode][cathode] = -bare * (gm + gp + gg) - as_current;
  e.F_y[cathode][bypass] = as_current;

  e.g[capacitor_1] = output_v;
  e.g_x[capacitor_1][plate] = 1;
  e.g_y[capacitor_1][capacitor_1] = -1;
  e.g[bypass] = y[bypass] - bypassed_ohm_ * into_cathode;
  e.g_x[bypass][plate] = -bypassed_ohm_ * gp;
  e.g_x[bypass][cathode] = bypassed_ohm_ * (gm + gp + gg);
  e.g_y[bypass][bypass] = 1;
  e.g[grid_1] = vg + drop * rows.grid_a[k];
  e.g_x[grid_1][cathode] = -drop * gg;
  const double by_grid = 1 + drop * gg, bypass_by_grid = -bypassed_ohm_ * (gm + gg);
  if constexpr (kReal) {
    e.F_x[plate][grid] = -gm;
    e.F_y[plate][supply] = plate_;
    e.F_x[cathode][grid] = bare * (gm + gg);
    e.F[grid] = source_ * (y[grid_1] + y[drive] * cosine - vg) - rows.grid_a[k] - leak_ * vg;
    e.F_x[grid][grid] = -source_ - gg - leak_;
    e.F_x[grid][cathode] = gg;
    e.F_y[grid][grid_1] = source_;
    e.F_y[grid][drive] = source_ * cosine;
    e.g_x[grid_1][grid] = by_grid;
    e.g_x[bypass][grid] = bypass_by_grid;
    if (main_ > 0) {
      const double all = main_ + plate_;
      e.g[supply] = (design_.main_supply_v * main_ + x[plate] * plate_) / all - supply_v;
      e.g_x[supply][plate] = plate_ / all;
    } else {
      e.g[supply] = design_.supply_v - supply_v;
      e.g_x[supply][plate] = 0;
    }
    e.g_y[supply][supply] = -1;
  } else {
    e.F_y[plate][grid_1] = -gm;
    e.F_y[plate][drive] = -gm * cosine;
    e.F_y[cathode][grid_1] = bare * (gm + gg);
    e.F_y[cathode][drive] = bare * (gm + gg) * cosine;
    e.g_y[bypass][grid_1] = bypass_by_grid;
    e.g_y[bypass][drive] = bypass_by_grid * cosine;
    e.g_y[grid_1][grid_1] = by_grid;
    e.g_y[grid_1][drive] = by_grid * cosine;
  }
}

template <Surroundings kAround>
void CommonCathode<kAround>::at_rest(const State& state, InstantEquations<kLocal, kBorder>& e) const {
  Sweep s;
  sweep<1>(rest_instant(), state, s);
  double x[kLocal];
  for (int r = 0; r < kLocal; ++r) x[r] = state.x[r][0];
  local<1>(0, 0, x, state.y, s, e);
}

template <Surroundings kAround>
void CommonCathode<kAround>::describe(const Instants& instants, const State& state, Waveforms& out) const {
  out.instants = instants.count;
  out.drive = instants.cosine;
  out.supply_v = kReal ? state.y[kBorder - 1] : design_.supply_v;
  for (int k = 0; k < instants.count; ++k) {
    const double vp = state.x[plate][k], vk = state.x[cathode][k];
    double vg = 0;
    if constexpr (kReal)
      vg = state.x[grid][k];
    else
      vg = state.y[grid_1] + state.y[drive] * instants.cosine[k];
    out.plate_v[0][k] = vp;
    out.cathode_v[k] = vk;
    out.output_v[0][k] = vp - state.y[capacitor_1];
    out.output_grid_a[0][k] = 0;
    out.plate_current_a[0][k] = (out.supply_v - vp) * plate_ - out.output_v[0][k] * load_;
    out.grid_to_cathode_v[0][k] = vg - vk;
    out.grid_current_a[0][k] =
        section_.grid_silent_at(vg - vk) ? 0.0 : section_.currents_at(vg - vk, vp - vk).grid_a;
    out.tail_v[k] = vk;
  }
}

using Ideal = CommonCathode<Surroundings::ideal>;
using Real = CommonCathode<Surroundings::real>;

template <>
ANTIPHASE_WIDE NewtonEnd Ideal::solve(const Instants& at, const DriveCondition& condition, State& state,
                                      NewtonWork<kLocal, kBorder, kInstants>& work, int& steps) const {
  return newton::solve<Ideal, kInstants>(*this, at, condition, state, work, steps);
}
template <>
ANTIPHASE_WIDE NewtonEnd Real::solve(const Instants& at, const DriveCondition& condition, State& state,
                                     NewtonWork<kLocal, kBorder, kInstants>& work, int& steps) const {
  return newton::solve<Real, kInstants>(*this, at, condition, state, work, steps);
}
template <Surroundings kAround>
NewtonEnd CommonCathode<kAround>::solve(const Instants& at, const DriveCondition& condition, State& state,
                                        NewtonWork<kLocal, kBorder, 1>& work, int& steps) const {
  return newton::solve<CommonCathode, 1>(*this, at, condition, state, work, steps);
}

template class CommonCathode<Surroundings::ideal>;
template class CommonCathode<Surroundings::real>;

}  // namespace antiphase
