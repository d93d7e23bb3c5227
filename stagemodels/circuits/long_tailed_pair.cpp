#include "stagemodels/circuits/long_tailed_pair.h"

#include <algorithm>

#include "stagemodels/solve/scalar_root.h"
#include "stagemodels/wide.h"

namespace antiphase {
namespace {

constexpr double kBracketTolerance_v = 1e-11;

/// Plate voltage at which the section's current is what comes through its plate resistor.
double plate_at_rest(const TriodeSection& section, double supply_v, double plate_siemens, double grid_v,
                     double cathode_v) {
  const auto excess = [&](double plate_v) {
    return (supply_v - plate_v) * plate_siemens -
           section.currents_at(grid_v - cathode_v, plate_v - cathode_v).plate_a;
  };
  // At the supply no current comes; far below it the section passes none.
  double low = std::fmin(cathode_v, supply_v) - 1;
  while (excess(low) < 0 && low > -1e6) low = 2 * low - std::fabs(supply_v) - 1;
  return find_root(excess, low, supply_v, kBracketTolerance_v).x;
}

}  // namespace

PairNetwork::PairNetwork(const Design& design, bool output_grids) : design_(design) {
  for (std::size_t i = 0; i < 2; ++i) {
    section_[i] = design.section(static_cast<int>(i));
    plate_[i] = 1 / design.plate_ohm[i];
    load_[i] = 1 / design.load_ohm;
  }
  leak_siemens_ = 1 / design.grid_leak_ohm;
  if (design.tail.form == TailForm::resistor) {
    tail_siemens_ = 1 / design.tail.ohm;
  } else {
    tail_siemens_ = 1 / design.tail.output_ohm;
    tail_source_a_ = design.tail.current_a;
  }
  if (design.bias.form == BiasForm::negative_rail) tail_foot_v_ = design.bias.rail_v;
  // Norton equivalent of the tail against ground
  const double source_a = tail_source_a_ - tail_siemens_ * tail_foot_v_;
  if (design.bias.form == BiasForm::self_biased) {
    const double bias = 1 / design.bias.ohm;
    const double node = bias + 2 * leak_siemens_ + tail_siemens_;
    leak_from_cathode_ = bias / node;
    leak_from_grids_ = leak_siemens_ / node;
    leak_offset_v_ = -source_a / node;
    cathode_siemens_ = bias * (1 - leak_from_cathode_);
    grids_to_tail_ = bias * leak_from_grids_;
    cathode_source_a_ = -bias * leak_offset_v_;
  } else {
    cathode_siemens_ = tail_siemens_;
    cathode_source_a_ = source_a;
    leak_offset_v_ = design.bias.form == BiasForm::direct_coupled ? design.bias.grid_v : 0;
  }
  drop_1_ohm_ = grid_1_held() ? 0 : design.grid_leak_ohm;
  drop_2_ohm_ = design.grid_leak_ohm;
  source_siemens_ = 1 / std::fmax(design.source_ohm, kLeastSource_ohm);
  if (design.main_supply_v > 0) main_siemens_ = 1 / design.dropping_ohm;
  if (output_grids && design.output_valve) {
    output_grid_ = design.output_valve->grid;
    output_bias_v_ = design.output_valve_bias_v;
  }
}

double PairNetwork::leak_node_v(double cathode_v, double grids_sum_v) const {
  return leak_from_cathode_ * cathode_v + leak_from_grids_ * grids_sum_v + leak_offset_v_;
}

double PairNetwork::tail_current_a(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return cathode_siemens_ * cathode_v + cathode_source_a_;
  return (cathode_v - grid_rest_v(cathode_v)) / design_.bias.ohm;
}

double PairNetwork::grid_rest_v(double cathode_v) const {
  if (design_.bias.form != BiasForm::self_biased) return leak_offset_v_;
  const double bias = 1 / design_.bias.ohm;
  return (bias * cathode_v - tail_source_a_) / (bias + tail_siemens_);
}

double PairNetwork::grid_rest_slope() const {
  if (design_.bias.form != BiasForm::self_biased) return 0;
  const double bias = 1 / design_.bias.ohm;
  return bias / (bias + tail_siemens_);
}

bool PairNetwork::guess_rest(RestGuess& at) const {
  const bool dropped = main_siemens_ > 0;
  const double from_v = dropped ? design_.main_supply_v : design_.supply_v;
  const double own_ohm = 0.5 * (design_.plate_ohm[0] + design_.plate_ohm[1]);
  const double ohm = own_ohm + (dropped ? 2 * design_.dropping_ohm : 0);  // of one section's current
  const double tail_slope = tail_current_a(1) - tail_current_a(0), grid_slope = grid_rest_slope();
  // How much more the section passes than the tail takes; falls as the cathode rises.
  double slope = 0;
  const auto excess = [&](double vk) {
    const double each = 0.5 * tail_current_a(vk);
    const TriodeCurrents c = section(0).currents_at(grid_rest_v(vk) - vk, from_v - each * ohm - vk);
    slope = c.plate_per_grid_s * (grid_slope - 1) - c.plate_per_plate_s * (1 + 0.5 * tail_slope * ohm) -
            0.5 * tail_slope;
    return c.plate_a - each;
  };
  double low = tail_foot_v_, high = from_v;
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
  const double each = 0.5 * tail_current_a(vk);
  at.supply_v = from_v - (dropped ? 2 * each * design_.dropping_ohm : 0);
  at.cathode_v = vk;
  at.grid_v = grid_rest_v(vk);
  for (std::size_t i = 0; i < 2; ++i) at.plate_v[i] = at.supply_v - each * design_.plate_ohm[i];
  return true;
}

double PairNetwork::conducting_grid_v(int section, double cathode_v) const {
  const double foot = grid_rest_v(cathode_v);
  const bool held = section == 0 && grid_1_held();
  // With self-bias no grid is positive at rest, and what little current flows is left to Newton.
  if (held || design_.bias.form == BiasForm::self_biased || !this->section(section).has_grid_current())
    return foot;
  const auto excess = [&](double grid_v) {
    return grid_v - foot +
           design_.grid_leak_ohm * this->section(section).currents_at(grid_v - cathode_v, foot).grid_a;
  };
  const double at_foot = excess(foot);  // what the leak would drop if the grid stood at its foot
  return at_foot > 0 ? find_root(excess, foot - at_foot, foot, kBracketTolerance_v).x : foot;
}

bool PairNetwork::bracket_rest(RestGuess& at, std::array<double, 2>& grid_v) const {
  const auto plates = [&](double supply_v, double vk) {
    for (int i = 0; i < 2; ++i) {
      grid_v[i] = conducting_grid_v(i, vk);
      at.plate_v[i] = plate_at_rest(section(i), supply_v, plate_siemens(i), grid_v[i], vk);
    }
  };
  const auto supply = [&](double vk) {
    if (!(main_siemens_ > 0)) return design_.supply_v;
    const auto short_of = [&](double supply_v) {
      plates(supply_v, vk);
      double sum = (design_.main_supply_v - supply_v) * main_siemens_;
      for (int i = 0; i < 2; ++i) sum -= (supply_v - at.plate_v[i]) * plate_[i];
      return sum;
    };
    double low = 0;
    while (short_of(low) < 0 && low > -1e6) low = 2 * low - 100;
    return find_root(short_of, low, design_.main_supply_v, kBracketTolerance_v).x;
  };
  const auto excess = [&](double vk) {
    at.supply_v = supply(vk);
    plates(at.supply_v, vk);
    double sum = -tail_current_a(vk);
    for (int i = 0; i < 2; ++i)
      sum += (at.supply_v - at.plate_v[i]) * plate_[i] +
             section(i).currents_at(grid_v[i] - vk, at.plate_v[i] - vk).grid_a;
    return sum;
  };
  double low = tail_foot_v_;
  for (double step = 1; excess(low) < 0; step *= 2) {
    low -= step;
    if (step > 4096) return false;
  }
  const double high = std::fmax(cold_supply_v(design_), grid_1_held() ? design_.bias.grid_v : 0);
  const ScalarRoot root = find_root(excess, low, high, kBracketTolerance_v);
  if (!root.found) return false;
  at.cathode_v = root.x;
  excess(root.x);
  return true;
}

double PairNetwork::input_siemens(double cathode_gain) const {
  // directly coupled, the leak of grid 2 hangs on grid 1
  if (design_.bias.form != BiasForm::self_biased) return leak_siemens_;
  return leak_siemens_ * (1 - leak_from_cathode_ * cathode_gain - leak_from_grids_);
}

void PairNetwork::describe_instant(int k, double grid_1_v, double grid_2_v, double supply_v,
                                   const Pair& capacitor_v, Waveforms& out) const {
  const double vk = out.cathode_v[k];
  const double grid_v[2] = {grid_1_v, grid_2_v};
  for (int i = 0; i < 2; ++i) {
    const double vp = out.plate_v[i][k];
    const double output = vp - capacitor_v[i];
    out.output_v[i][k] = output;
    // Kirchhoff at the plate: exact, and needs no call of the law
    out.plate_current_a[i][k] = (supply_v - vp) * plate_[i] - output * load_[i] - out.output_grid_a[i][k];
    out.grid_to_cathode_v[i][k] = grid_v[i] - vk;
  }
  const double top = design_.bias.form == BiasForm::self_biased ? leak_node_v(vk, grid_1_v + grid_2_v) : vk;
  out.tail_v[k] = top - tail_foot_v_;
}

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
