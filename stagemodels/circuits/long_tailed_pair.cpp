#include "stagemodels/circuits/long_tailed_pair.h"

#include <algorithm>

#include "stagemodels/wide.h"

namespace antiphase {
template <Surroundings kAround, int kCount>
bool LongTailedPair<kAround, kCount>::guess_rest(State& state) const {
  RestGuess at;
  if (!PairNetwork::guess_rest(at)) return false;
  for (int i = 0; i < 2; ++i) {
    state.x[i][0] = state.y[capacitor_1 + i] = at.plate_v[i];
    state.y[grid_1 + i] = at.grid_v;
  }
  state.x[cathode][0] = at.cathode_v;
  state.y[drive] = 0;
  if constexpr (kReal) {
    state.x[grid][0] = at.grid_v;
    state.y[supply] = at.supply_v;
  }
  return true;
}

template <Surroundings kAround, int kCount>
bool LongTailedPair<kAround, kCount>::bracket_rest(State& state) const {
  RestGuess at;
  std::array<double, 2> grid_v{};
  if (!PairNetwork::bracket_rest(at, grid_v)) return false;
  for (int i = 0; i < 2; ++i) {
    state.x[i][0] = state.y[capacitor_1 + i] = at.plate_v[i];
    state.y[grid_1 + i] = grid_v[i];
  }
  state.x[cathode][0] = at.cathode_v;
  state.y[drive] = 0;
  if constexpr (kReal) {
    state.x[grid][0] = grid_v[0];
    state.y[supply] = at.supply_v;
  }
  return true;
}

template <Surroundings kAround, int kCount>
template <int N>
ANTIPHASE_INLINE void LongTailedPair<kAround, kCount>::sweep(const Instants& instants, const State& state,
                                                             Sweep& out) const {
  for (int k = 0; k < N; ++k) {
    const double vk = state.x[cathode][k];
    double vg = 0;
    if constexpr (kReal)
      vg = state.x[grid][k];
    else
      vg = state.y[grid_1] + state.y[drive] * instants.cosine[k];
    out.section.grid_v[k] = vg - vk;
    out.section.grid_v[N + k] = state.y[grid_2] - vk;
    out.section.plate_v[k] = state.x[plate_1][k] - vk;
    out.section.plate_v[N + k] = state.x[plate_2][k] - vk;
  }
  sweep_sections<N, 2>(section_, out.section);
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
ANTIPHASE_INLINE void LongTailedPair<kAround, kCount>::local(int k, double cosine, const double (&x)[kLocal],
                                                             const std::array<double, kBorder>& y,
                                                             const Sweep& s,
                                                             InstantEquations<kLocal, kBorder>& e) const {
  const TriodeRows& rows = s.section.rows;
  const double a = leak_from_cathode_, b = leak_from_grids_, to_tail = grids_to_tail_;
  const double vk = x[cathode];
  double vg_1 = 0, supply_v = 0;
  if constexpr (kReal) {
    vg_1 = x[grid];
    supply_v = y[supply];
  } else {
    vg_1 = y[grid_1] + y[drive] * cosine;
    supply_v = design_.supply_v;
  }
  const double vg_2 = y[grid_2];
  const double node = a * vk + b * (vg_1 + vg_2) + leak_offset_v_;

  double at_cathode = to_tail * (vg_1 + vg_2) - cathode_siemens_ * vk - cathode_source_a_;
  double by_cathode = -cathode_siemens_;
  newton::each<2>(ANTIPHASE_STEP(i) {
    const int n = i * N + k;
    const double gm = rows.plate_per_grid_s[n], gp = rows.plate_per_plate_s[n], gg = rows.grid_per_grid_s[n];
    double load = load_[i], output_a = 0;
    if constexpr (kReal) {
      load += s.output_grid_s[n];
      output_a = s.output_grid_a[n];
    }
    const double output_v = x[i] - y[capacitor_1 + i];
    e.F[i] = (supply_v - x[i]) * plate_[i] - output_v * load_[i] - output_a - rows.plate_a[n];
    e.F_x[i][i] = -plate_[i] - load - gp;
    e.F_x[i][cathode] = gm + gp;
    e.F_x[cathode][i] = gp;
    e.F_y[i][capacitor_1 + i] = load;
    at_cathode += rows.plate_a[n] + rows.grid_a[n];
    by_cathode -= gm + gp + gg;

    // No mean current flows through the output capacitor into the load.
    const double per_load = 1 / load_[i];
    e.g[capacitor_1 + i] = output_v + output_a * per_load;
    e.g_x[capacitor_1 + i][i] = load * per_load;
    e.g_y[capacitor_1 + i][capacitor_1 + i] = -load * per_load;

    // A grid stands where its leak hangs, less what its mean current drops there; a directly coupled grid 1
    // is held by the stage before.
    const double drop = i == 0 ? drop_1_ohm_ : drop_2_ohm_;
    const bool held = i == 0 && kReal && grid_1_held();
    const double foot = i == 1 && kReal && grid_1_held() ? vg_1 : node;  // of the grid's leak
    e.g[grid_1 + i] = (i == 0 ? vg_1 : vg_2) - foot + drop * rows.grid_a[n];
    e.g_x[grid_1 + i][cathode] = -a - drop * gg;
    e.g_y[grid_1 + i][grid_2] = -b + (i == 1 ? 1 + drop * gg : 0);
    const double by_grid_1 = -b + (i == 0 ? 1 + drop * gg : 0);
    if constexpr (kReal) {
      e.F_y[i][supply] = plate_[i];
      e.g[grid_1 + i] = held ? y[grid_1] - leak_offset_v_ : e.g[grid_1 + i];
      e.g_x[grid_1 + i][grid] = held ? 0 : i == 1 && grid_1_held() ? -1 : by_grid_1;
      if constexpr (i == 0) e.g_y[grid_1][grid_1] = held ? 1 : 0;
    } else {
      e.g_y[grid_1 + i][grid_1] = by_grid_1;
      e.g_y[grid_1 + i][drive] = by_grid_1 * cosine;
    }

    const double into_cathode = gm + gg + to_tail;
    if constexpr (i == 1) {
      e.F_y[plate_2][grid_2] = -gm;
      e.F_y[cathode][grid_2] = into_cathode;
    } else if constexpr (kReal) {
      e.F_x[plate_1][grid] = -gm;
      e.F_x[cathode][grid] = into_cathode;
      // Its leak runs to the leak node or ground; directly coupled, that of grid 2 hangs on it.
      const double leak = leak_siemens_;
      const double leak_foot = grid_1_held() ? vg_2 : node;
      e.F[grid] = source_siemens_ * (y[grid_1] + y[drive] * cosine - vg_1) - rows.grid_a[n] -
                  leak * (vg_1 - leak_foot);
      e.F_x[grid][grid] = -source_siemens_ - gg - leak * (1 - b);
      e.F_x[grid][cathode] = gg + leak * a;
      e.F_y[grid][grid_1] = source_siemens_;
      e.F_y[grid][drive] = source_siemens_ * cosine;
      e.F_y[grid][grid_2] = grid_1_held() ? leak : leak * b;
    } else {
      e.F_y[plate_1][grid_1] = -gm;
      e.F_y[plate_1][drive] = -gm * cosine;
      e.F_y[cathode][grid_1] = into_cathode;
      e.F_y[cathode][drive] = into_cathode * cosine;
    }
  });
  e.F[cathode] = at_cathode;
  e.F_x[cathode][cathode] = by_cathode;

  if constexpr (kReal) {
    // The reservoir passes no mean current: what comes through the dropping resistor goes into the plates.
    if (main_siemens_ > 0) {
      const double all = main_siemens_ + plate_[0] + plate_[1];
      e.g[supply] =
          (design_.main_supply_v * main_siemens_ + x[plate_1] * plate_[0] + x[plate_2] * plate_[1]) / all -
          supply_v;
      e.g_x[supply][plate_1] = plate_[0] / all;
      e.g_x[supply][plate_2] = plate_[1] / all;
    } else {
      e.g[supply] = design_.supply_v - supply_v;
      e.g_x[supply][plate_1] = e.g_x[supply][plate_2] = 0;
    }
    e.g_y[supply][supply] = -1;
  }
}

template <Surroundings kAround, int kCount>
void LongTailedPair<kAround, kCount>::at_rest(const State& state,
                                              InstantEquations<kLocal, kBorder>& e) const {
  Sweep s;
  sweep<1>(rest_instant(), state, s);
  double x[kLocal];
  for (int r = 0; r < kLocal; ++r) x[r] = state.x[r][0];
  local<1>(0, 0, x, state.y, s, e);
}

template <Surroundings kAround, int kCount>
void LongTailedPair<kAround, kCount>::describe(const Instants& instants, const State& state,
                                               Waveforms& out) const {
  const int n = instants.count;
  out.instants = n;
  out.drive = instants.cosine;
  out.supply_v = kReal ? state.y[kBorder - 1] : design_.supply_v;
  const Pair capacitor_v{state.y[capacitor_1], state.y[capacitor_2]};
  const bool conducting = output_grid_.conducts();
  for (int k = 0; k < n; ++k) {
    double vg = 0;
    if constexpr (kReal)
      vg = state.x[grid][k];
    else
      vg = state.y[grid_1] + state.y[drive] * instants.cosine[k];
    out.cathode_v[k] = state.x[cathode][k];
    for (int i = 0; i < 2; ++i) {
      out.plate_v[i][k] = state.x[i][k];
      out.grid_current_a[i][k] = 0;
      out.output_grid_a[i][k] =
          conducting ? output_grid_.current_a(state.x[i][k] - capacitor_v[i] + output_bias_v_) : 0.0;
    }
    describe_instant(k, vg, state.y[grid_2], out.supply_v, capacitor_v, out);
  }
  for (int i = 0; i < 2; ++i) {
    const double highest =
        *std::max_element(out.grid_to_cathode_v[i].begin(), out.grid_to_cathode_v[i].begin() + n);
    if (!section(i).grid_silent_at(highest))
      for (int k = 0; k < n; ++k)
        out.grid_current_a[i][k] =
            section(i).currents_at(out.grid_to_cathode_v[i][k], out.plate_v[i][k] - out.cathode_v[k]).grid_a;
  }
}

// One solver for each kind of surroundings; those of the cycle are compiled for every width of vectors.
using Ideal = LongTailedPair<Surroundings::ideal>;
using Real = LongTailedPair<Surroundings::real>;
using Fine = LongTailedPair<Surroundings::real, kFineInstants>;

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
NewtonEnd LongTailedPair<kAround, kCount>::solve(const Instants& at, const DriveCondition& condition,
                                                 State& state, NewtonWork<kLocal, kBorder, 1>& work,
                                                 int& steps) const {
  return newton::solve<LongTailedPair, 1>(*this, at, condition, state, work, steps);
}

template class LongTailedPair<Surroundings::ideal>;
template class LongTailedPair<Surroundings::real>;
template class LongTailedPair<Surroundings::real, kFineInstants>;

}  // namespace antiphase
