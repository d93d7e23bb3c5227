#include "stagemodels/circuits/gain_and_splitter.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/solve/scalar_root.h"
#include "stagemodels/wide.h"

namespace antiphase {
namespace {

/// The pair behind the first stage with what that stage gives it, as a network of its own.
struct PairAt : PairNetwork {
  explicit PairAt(const Design& design) : PairNetwork(design, false) {}
  using PairNetwork::bracket_rest;
  using PairNetwork::guess_rest;
  using PairNetwork::RestGuess;
};

}  // namespace

template <Surroundings kAround, int kCount>
GainAndSplitter<kAround, kCount>::GainAndSplitter(const Design& design, bool output_grids)
    : PairNetwork(design, output_grids),
      first_(design.first_section()),
      direct_(design.bias.form == BiasForm::direct_coupled),
      direct_share_(direct_ ? 1 : 0),
      first_plate_(1 / design.first_stage.plate_ohm),
      first_leak_(1 / design.first_stage.grid_leak_ohm),
      bare_ohm_(design.first_stage.cathode_unbypassed_ohm),
      bypassed_ohm_(design.first_stage.cathode_ohm - design.first_stage.cathode_unbypassed_ohm) {
  if (direct_) leak_offset_v_ = 0;  // the grids' voltage is a result
}

/// Plate current of the first stage on its own; < 0 if it cannot be found. Newton inside a bracket: what
/// the section passes less what its resistors would falls all the way as the current grows.
template <Surroundings kAround, int kCount>
double GainAndSplitter<kAround, kCount>::first_rest_a(double supply_v, double tolerated_share) const {
  constexpr double kUsualShare = 0.35;  // of the supply that the plate resistor drops
  constexpr int kMostSteps = 100;
  const double cathode_ohm = design_.first_stage.cathode_ohm, ohm = cathode_ohm + 1 / first_plate_;
  const double most = supply_v * first_plate_;
  double low = 0, high = most, current = kUsualShare * most;
  for (int n = 0; n < kMostSteps; ++n) {
    const TriodeCurrents c = first_.currents_at(-current * cathode_ohm, supply_v - current * ohm);
    const double excess = c.plate_a - current;
    (excess > 0 ? low : high) = current;
    double next = current + excess / (1 + c.plate_per_grid_s * cathode_ohm + c.plate_per_plate_s * ohm);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    const double moved = std::fabs(next - current);
    current = next;
    if (moved <= tolerated_share * most) return current;
  }
  return -1;
}

template <Surroundings kAround, int kCount>
bool GainAndSplitter<kAround, kCount>::rest_from(State& state, bool bracket) const {
  constexpr double kSupplyTolerance_v = 1e-3;               // Newton goes on from there
  constexpr double kExactShare = 1e-9, kGuessShare = 1e-3;  // the last step leaves its square
  const double from_v = cold_supply_v(design_);
  Design stiff = design_;  // the pair alone on a supply that is known
  stiff.main_supply_v = 0;
  PairAt::RestGuess at{};
  std::array<double, 2> grid_v{};
  double first_a = 0;
  bool found = true;
  /// How much more comes through the dropping resistor than the plates take.
  const auto excess_at = [&](double supply_v) {
    first_a = first_rest_a(supply_v, bracket ? kExactShare : kGuessShare);
    found = first_a >= 0;
    stiff.supply_v = supply_v;
    if (direct_) stiff.bias.grid_v = supply_v - first_a / first_plate_;
    const PairAt pair(stiff);
    found = found && (bracket ? pair.bracket_rest(at, grid_v) : pair.guess_rest(at));
    if (!bracket) grid_v = {at.grid_v, at.grid_v};
    double sum = (from_v - supply_v) * main_siemens_ - first_a;
    for (int i = 0; i < 2; ++i) sum -= (supply_v - at.plate_v[i]) * plate_[i];
    return sum;
  };
  double supply_v = from_v;
  if (main_siemens_ > 0) {
    constexpr double kLeastSupply_v = 1;
    supply_v = find_root(excess_at, std::fmin(kLeastSupply_v, 0.5 * from_v), from_v, kSupplyTolerance_v).x;
  }
  excess_at(supply_v);
  if (!found) return false;

  for (int i = 0; i < 2; ++i) state.x[i][0] = state.y[capacitor_1 + i] = at.plate_v[i];
  const double first_plate_v = supply_v - first_a / first_plate_;
  state.x[pair_cathode][0] = at.cathode_v;
  state.x[first_plate][0] = first_plate_v;
  state.x[cathode][0] = first_a * design_.first_stage.cathode_ohm;
  state.y[between] = direct_ ? 0 : first_plate_v - grid_v[0];
  state.y[grid_2] = grid_v[1];
  state.y[bypass] = first_a * bypassed_ohm_;
  state.y[grid_1] = state.y[drive] = 0;
  if constexpr (kReal) {
    state.x[grid][0] = 0;
    state.y[supply] = supply_v;
  }
  return true;
}

template <Surroundings kAround, int kCount>
template <int N>
ANTIPHASE_INLINE void GainAndSplitter<kAround, kCount>::sweep(const Instants& instants, const State& state,
                                                              Sweep& out) const {
  for (int k = 0; k < N; ++k) {
    const double vk = state.x[pair_cathode][k];
    out.section.grid_v[k] = state.x[first_plate][k] - state.y[between] - vk;
    out.section.grid_v[N + k] = state.y[grid_2] - vk;
    out.section.plate_v[k] = state.x[plate_1][k] - vk;
    out.section.plate_v[N + k] = state.x[plate_2][k] - vk;
    double vg = 0;
    if constexpr (kReal)
      vg = state.x[grid][k];
    else
      vg = state.y[grid_1] + state.y[drive] * instants.cosine[k];
    out.first.grid_v[k] = vg - state.x[cathode][k];
    out.first.plate_v[k] = state.x[first_plate][k] - state.x[cathode][k];
  }
  sweep_sections<N, 2>(section_, out.section);
  sweep_sections<N, 1>({first_, first_}, out.first);
  if constexpr (kReal) {
    alignas(64) Row grid_v;
    for (int k = 0; k < N; ++k)
      for (int i = 0; i < 2; ++i) {
        grid_v[i * N + k] = state.x[i][k] - state.y[capacitor_1 + i] + output_bias_v_;
        out.output_grid_a[i * N + k] = out.output_grid_s[i * N + k] = 0;
      }
    add_grid_diode<2 * N>(output_grid_, grid_v.data(), out.output_grid_a.data(), out.output_grid_s.data());
  }
}

template <Surroundings kAround, int kCount>
template <int N>
ANTIPHASE_INLINE void GainAndSplitter<kAround, kCount>::local(int k, double cosine, const double (&x)[kLocal],
                                                              const std::array<double, kBorder>& y,
                                                              const Sweep& s,
                                                              InstantEquations<kLocal, kBorder>& e) const {
  const TriodeRows &rows = s.section.rows, &first = s.first.rows;
  // The coupling is chosen by factors of 0 and 1: a choice would keep the loop over instants from being
  // compiled to wide vectors.
  const double wire = direct_share_, capacitor = 1 - wire;
  const double a = leak_from_cathode_, b = leak_from_grids_, to_tail = grids_to_tail_;
  const double vk = x[pair_cathode], vg_1 = x[first_plate] - y[between], vg_2 = y[grid_2];
  const double node = a * vk + b * (vg_1 + vg_2) + leak_offset_v_;
  double supply_v = 0, vg_0 = 0;
  if constexpr (kReal) {
    supply_v = y[supply];
    vg_0 = x[grid];
  } else {
    supply_v = design_.supply_v;
    vg_0 = y[grid_1] + y[drive] * cosine;
  }

  // The pair, as in long_tailed_pair.cpp, its grid 1 a node of this circuit.
  double at_cathode = to_tail * (vg_1 + vg_2) - cathode_siemens_ * vk - cathode_source_a_;
  double by_cathode = -cathode_siemens_;
  newton::each<2>(ANTIPHASE_STEP(i) {
    const int n = i * N + k;
    const double gm = rows.plate_per_grid_s[n], gp = rows.plate_per_plate_s[n], gg = rows.grid_per_grid_s[n];
    double load = load_[i], output_a = 0;
    if constexpr (kReal) {
      load += s.output_grid_s[n];
      output_a = s.output_grid_a[n];
      e.F_y[i][supply] = plate_[i];
    }
    const double output_v = x[i] - y[capacitor_1 + i];
    e.F[i] = (supply_v - x[i]) * plate_[i] - output_v * load_[i] - output_a - rows.plate_a[n];
    e.F_x[i][i] = -plate_[i] - load - gp;
    e.F_x[i][pair_cathode] = gm + gp;
    e.F_x[pair_cathode][i] = gp;
    e.F_y[i][capacitor_1 + i] = load;
    at_cathode += rows.plate_a[n] + rows.grid_a[n];
    by_cathode -= gm + gp + gg;
    const double per_load = 1 / load_[i];
    e.g[capacitor_1 + i] = output_v + output_a * per_load;
    e.g_x[capacitor_1 + i][i] = load * per_load;
    e.g_y[capacitor_1 + i][capacitor_1 + i] = -load * per_load;

    const double into_cathode = gm + gg + to_tail;
    if constexpr (i == 0) {
      e.F_x[plate_1][first_plate] = -gm;
      e.F_y[plate_1][between] = gm;
      e.F_x[pair_cathode][first_plate] = into_cathode;
      e.F_y[pair_cathode][between] = -into_cathode;
    } else {
      e.F_y[plate_2][grid_2] = -gm;
      e.F_y[pair_cathode][grid_2] = into_cathode;
    }
  });
  e.F[pair_cathode] = at_cathode;
  e.F_x[pair_cathode][pair_cathode] = by_cathode;

  // What grid 1 and its leak take from the first plate. Directly coupled, the leak of grid 2 hangs there.
  const double leak = leak_siemens_, gg_1 = rows.grid_per_grid_s[k], gg_2 = rows.grid_per_grid_s[N + k];
  const double taken_a = rows.grid_a[k] + leak * (vg_1 - wire * vg_2 - capacitor * node);
  const double taken_s = gg_1 + leak * (1 - b);  // b is 0 if direct
  const double gm = first.plate_per_grid_s[k], gp = first.plate_per_plate_s[k], gg = first.grid_per_grid_s[k];
  const double into_cathode = first.plate_a[k] + first.grid_a[k];
  e.F[first_plate] = (supply_v - x[first_plate]) * first_plate_ - first.plate_a[k] - taken_a;
  e.F_x[first_plate][first_plate] = -first_plate_ - gp - taken_s;
  e.F_x[first_plate][pair_cathode] = gg_1 + leak * a;
  e.F_x[first_plate][cathode] = gm + gp;
  e.F_y[first_plate][between] = taken_s;
  e.F_y[first_plate][grid_2] = leak * (wire + capacitor * b);

  // The first cathode's equation is one of voltages; over the whole resistance it counts as a current.
  const double as_current = 1 / design_.first_stage.cathode_ohm;
  const double bare = bare_ohm_ * as_current;
  e.F[cathode] = bare * into_cathode - (x[cathode] - y[bypass]) * as_current;
  e.F_x[cathode][first_plate] = bare * gp;
  e.F_x[cathode][cathode] = -bare * (gm + gp + gg) - as_current;
  e.F_y[cathode][bypass] = as_current;
  e.g[bypass] = y[bypass] - bypassed_ohm_ * into_cathode;
  e.g_x[bypass][first_plate] = -bypassed_ohm_ * gp;
  e.g_x[bypass][cathode] = bypassed_ohm_ * (gm + gp + gg);
  e.g_y[bypass][bypass] = 1;

  // No mean current through the capacitor between the stages: what grid 1 draws comes through its leak.
  const double leak_ohm = drop_2_ohm_, by_grid_1 = 1 - b + leak_ohm * gg_1;
  e.g[between] = capacitor * (vg_1 - node + leak_ohm * rows.grid_a[k]) - wire * y[between];
  e.g_x[between][first_plate] = capacitor * by_grid_1;
  e.g_x[between][pair_cathode] = -capacitor * (a + leak_ohm * gg_1);
  e.g_y[between][between] = -wire - capacitor * by_grid_1;
  e.g_y[between][grid_2] = -capacitor * b;
  const double foot_by_grid_1 = wire + capacitor * b;
  e.g[grid_2] = vg_2 - wire * vg_1 - capacitor * node + leak_ohm * rows.grid_a[N + k];
  e.g_x[grid_2][first_plate] = -foot_by_grid_1;
  e.g_x[grid_2][pair_cathode] = -a - leak_ohm * gg_2;
  e.g_y[grid_2][between] = foot_by_grid_1;
  e.g_y[grid_2][grid_2] = 1 - b + leak_ohm * gg_2;

  const double drop = design_.first_stage.grid_leak_ohm;
  e.g[grid_1] = vg_0 + drop * first.grid_a[k];
  e.g_x[grid_1][cathode] = -drop * gg;
  const double by_grid = 1 + drop * gg, bypass_by_grid = -bypassed_ohm_ * (gm + gg);
  if constexpr (kReal) {
    const double source = source_siemens_;
    e.F_x[first_plate][grid] = -gm;
    e.F_y[first_plate][supply] = first_plate_;
    e.F_x[cathode][grid] = bare * (gm + gg);
    e.F[grid] = source * (y[grid_1] + y[drive] * cosine - vg_0) - first.grid_a[k] - first_leak_ * vg_0;
    e.F_x[grid][grid] = -source - gg - first_leak_;
    e.F_x[grid][cathode] = gg;
    e.F_y[grid][grid_1] = source;
    e.F_y[grid][drive] = source * cosine;
    e.g_x[grid_1][grid] = by_grid;
    e.g_x[bypass][grid] = bypass_by_grid;
    // The reservoir passes no mean current: what comes through the dropping resistor goes into the plates.
    const double per_all =
        main_siemens_ > 0 ? 1 / (main_siemens_ + plate_[0] + plate_[1] + first_plate_) : 0.0;
    const double from_main_v =
        main_siemens_ > 0 ? design_.main_supply_v * main_siemens_ * per_all : design_.supply_v;
    const double by_1 = plate_[0] * per_all, by_2 = plate_[1] * per_all, by_first = first_plate_ * per_all;
    e.g[supply] = from_main_v + x[plate_1] * by_1 + x[plate_2] * by_2 + x[first_plate] * by_first - supply_v;
    e.g_x[supply][plate_1] = by_1;
    e.g_x[supply][plate_2] = by_2;
    e.g_x[supply][first_plate] = by_first;
    e.g_y[supply][supply] = -1;
  } else {
    e.F_y[first_plate][grid_1] = -gm;
    e.F_y[first_plate][drive] = -gm * cosine;
    e.F_y[cathode][grid_1] = bare * (gm + gg);
    e.F_y[cathode][drive] = bare * (gm + gg) * cosine;
    e.g_y[bypass][grid_1] = bypass_by_grid;
    e.g_y[bypass][drive] = bypass_by_grid * cosine;
    e.g_y[grid_1][grid_1] = by_grid;
    e.g_y[grid_1][drive] = by_grid * cosine;
  }
}

template <Surroundings kAround, int kCount>
void GainAndSplitter<kAround, kCount>::at_rest(const State& state,
                                               InstantEquations<kLocal, kBorder>& e) const {
  Sweep s;
  sweep<1>(rest_instant(), state, s);
  double x[kLocal];
  for (int r = 0; r < kLocal; ++r) x[r] = state.x[r][0];
  local<1>(0, 0, x, state.y, s, e);
}

template <Surroundings kAround, int kCount>
void GainAndSplitter<kAround, kCount>::describe(const Instants& instants, const State& state,
                                                Waveforms& out) const {
  const int n = instants.count;
  out.instants = n;
  out.drive = instants.cosine;
  out.supply_v = kReal ? state.y[kBorder - 1] : design_.supply_v;
  const Pair capacitor_v{state.y[capacitor_1], state.y[capacitor_2]};
  const double vg_2 = state.y[grid_2];
  const bool conducting = output_grid_.conducts();
  for (int k = 0; k < n; ++k) {
    const double vk = state.x[pair_cathode][k], vg_1 = state.x[first_plate][k] - state.y[between];
    out.cathode_v[k] = vk;
    for (int i = 0; i < 2; ++i) {
      out.plate_v[i][k] = state.x[i][k];
      out.output_grid_a[i][k] =
          conducting ? output_grid_.current_a(state.x[i][k] - capacitor_v[i] + output_bias_v_) : 0.0;
    }
    describe_instant(k, vg_1, vg_2, out.supply_v, capacitor_v, out);
    for (int i = 0; i < 2; ++i) {
      const double to_cathode = out.grid_to_cathode_v[i][k];
      out.grid_current_a[i][k] = section(i).grid_silent_at(to_cathode)
                                     ? 0.0
                                     : section(i).currents_at(to_cathode, out.plate_v[i][k] - vk).grid_a;
    }
    FirstStageWaveforms& f = out.first;
    const double vp = state.x[first_plate][k], foot = PairNetwork::leak_node_v(vk, vg_1 + vg_2);
    f.plate_v[k] = vp;
    f.cathode_v[k] = state.x[cathode][k];
    f.grid_to_cathode_v[k] = driven_grid_v(state, instants.cosine[k], k) - f.cathode_v[k];
    f.plate_current_a[k] = (out.supply_v - vp) * first_plate_ - out.grid_current_a[0][k] -
                           leak_siemens_ * (vg_1 - (direct_ ? vg_2 : foot));
    f.grid_current_a[k] = first_.grid_silent_at(f.grid_to_cathode_v[k])
                              ? 0.0
                              : first_.currents_at(f.grid_to_cathode_v[k], vp - f.cathode_v[k]).grid_a;
  }
}

// One solver for each kind of surroundings; those of the cycle are compiled for every width of vectors.
using Ideal = GainAndSplitter<Surroundings::ideal>;
using Real = GainAndSplitter<Surroundings::real>;
using Fine = GainAndSplitter<Surroundings::real, kFineInstants>;

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
template <>
ANTIPHASE_WIDE NewtonEnd Fine::solve(const Instants& at, const DriveCondition& condition, State& state,
                                     NewtonWork<kLocal, kBorder, kFineInstants>& work, int& steps) const {
  return newton::solve<Fine, kFineInstants>(*this, at, condition, state, work, steps);
}
template <Surroundings kAround, int kCount>
NewtonEnd GainAndSplitter<kAround, kCount>::solve(const Instants& at, const DriveCondition& condition,
                                                  State& state, NewtonWork<kLocal, kBorder, 1>& work,
                                                  int& steps) const {
  return newton::solve<GainAndSplitter, 1>(*this, at, condition, state, work, steps);
}

template class GainAndSplitter<Surroundings::ideal>;
template class GainAndSplitter<Surroundings::real>;
template class GainAndSplitter<Surroundings::real, kFineInstants>;

}  // namespace antiphase
