#include "stagemodels/output/pair_solver.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "stagemodels/solve/scalar_root.h"
#include "stagemodels/solve/small_system.h"

namespace antiphase {
namespace {

constexpr double kSign[2] = {1, -1};
constexpr double kSettled_v = 1e-7;  // a Newton step below it leaves less than rounding behind
constexpr int kMostSteps = 40, kMostHalvings = 12, kMostTries = 24;
constexpr double kDriveStep = 1.25, kFirstShare = 0.05;
constexpr double kMostDrives = 4;  // times the voltage that takes a grid from its bias to its cathode

double square(double v) {
  return v * v;
}

}  // namespace

const Instants& PairSolver::instants() {
  static const Instants table = make_instants(kCycleInstants - 1);
  return table;
}

PairSolver::PairSolver(const OutputPair& pair) : pair_(pair) {
  const OutputTransformer& t = pair_.transformer;
  ratio_ = t.turns_ratio();
  reflected_ohm_ = square(ratio_) * (t.load_ohm + t.secondary_ohm);
  half_ohm_ = 0.5 * t.primary_ohm;
  const bool triodes = !has_screen(pair_.valve[0]->law->law) || !has_screen(pair_.valve[1]->law->law);
  if (triodes) pair_.screens = ScreenConnection::triode;
  tap_ = pair_.screens == ScreenConnection::supply   ? 0
         : pair_.screens == ScreenConnection::triode ? 1
                                                     : pair_.tap;
}

PairSolver::Valve PairSolver::valve_at(const double* x, double cathode_v, int j) const {
  const double* v = x + 3 * j;
  const OutputValve& valve = *pair_.valve[static_cast<std::size_t>(j)];
  Valve out;
  out.c = currents_of(valve.law->law, {v[grid] - cathode_v, v[screen] - cathode_v, v[plate] - cathode_v});
  const double grid_v = v[grid] - cathode_v;
  valve.grid.add(&grid_v, 1, &out.grid_a, &out.grid_per_v);
  return out;
}

/// Row k: block m = [F_x | F | F_y], g what has a mean (each in volts), g_x its derivatives. y follows by
/// hand where the means are summed, but for the cathode, which is in every current.
void PairSolver::equations(const Unknowns& u, int k, double amplitude, Block& m, double* g,
                           double (*g_x)[kLocal]) const {
  const auto n = static_cast<std::size_t>(k);
  const double* x = u.x[n].data();
  const double cathode_v = u.y[0], magnetizing_a = u.y[1];
  for (auto& row : m) std::fill(std::begin(row), std::end(row), 0.0);
  for (int r = 0; r < kStill; ++r) std::fill(g_x[r], g_x[r] + kLocal, 0.0), g[r] = 0;
  constexpr int F = kLocal, Y = kLocal + 1;

  double turns_a = -magnetizing_a;  // J1 - J2 - im
  double turns_x[kLocal] = {}, turns_k = 0;
  double screens_a = 0, screens_x[kLocal] = {}, screens_k = 0;
  for (int j = 0; j < 2; ++j) {
    const Valve v = valve_at(x, cathode_v, j);
    const OutputCurrents& c = v.c;
    const double plate_x[3] = {c.plate_per_plate_s, c.plate_per_screen_s, c.plate_per_grid_s};
    const double screen_x[3] = {c.screen_per_plate_s, c.screen_per_screen_s, c.screen_per_grid_s};
    const int p = 3 * j + plate, s = 3 * j + screen, w = 3 * j + grid;
    const bool own_supply = pair_.screens == ScreenConnection::supply;
    // Kirchhoff's voltage law of plate, screen and grid; the flux's share comes below.
    m[p][F] = x[p] - pair_.supply_v + half_ohm_ * (c.plate_a + tap_ * c.screen_a);
    m[s][F] = own_supply ? x[s] - pair_.screen_v
                         : x[s] - pair_.supply_v + tap_ * half_ohm_ * (c.plate_a + c.screen_a);
    const double comes_v = amplitude * drive_.wave[static_cast<std::size_t>(j)][n];
    m[w][F] = x[w] - u.y[static_cast<std::size_t>(2 + j)] - comes_v + pair_.source_ohm * v.grid_a;
    m[p][p] += 1;
    m[s][s] += 1;
    m[w][w] += 1 + pair_.source_ohm * v.grid_per_v;
    m[w][Y + 0] -= pair_.source_ohm * v.grid_per_v;
    m[w][Y + 2 + j] -= 1;
    double sum_k = 0, plate_k = 0, screen_k = 0;
    for (int e = 0; e < 3; ++e) {
      const int at_e = 3 * j + e;
      m[p][at_e] += half_ohm_ * (plate_x[e] + tap_ * screen_x[e]);
      if (!own_supply) m[s][at_e] += tap_ * half_ohm_ * (plate_x[e] + screen_x[e]);
      turns_x[at_e] = kSign[j] * (plate_x[e] + tap_ * screen_x[e]);
      screens_x[at_e] = screen_x[e];
      plate_k -= plate_x[e];
      screen_k -= screen_x[e];
      g_x[0][at_e] -= pair_.cathode_ohm * (plate_x[e] + screen_x[e]);
      sum_k += plate_x[e] + screen_x[e];
    }
    m[p][Y] += half_ohm_ * (plate_k + tap_ * screen_k);
    if (!own_supply) m[s][Y] += tap_ * half_ohm_ * (plate_k + screen_k);
    turns_a += kSign[j] * (c.plate_a + tap_ * c.screen_a);
    turns_k += kSign[j] * (plate_k + tap_ * screen_k);
    screens_a += c.screen_a;
    screens_k += screen_k;
    // Means: the cathode resistor's voltage, and what goes through a coupling capacitor.
    g[0] -= pair_.cathode_ohm * (c.plate_a + c.screen_a + v.grid_a);
    g_x[0][w] -= pair_.cathode_ohm * v.grid_per_v;
    if (pair_.grid_leak_ohm > 0) {
      g[2 + j] = x[w] - pair_.bias_v + pair_.grid_leak_ohm * v.grid_a;
      g_x[2 + j][w] = 1 + pair_.grid_leak_ohm * v.grid_per_v;
    }
  }
  // The flux: half the primary's voltage is a quarter of the reflected load times the ampere-turns.
  const double per_a = 0.25 * reflected_ohm_;
  g[1] = turns_a;  // its mean is nothing
  for (int e = 0; e < kLocal; ++e) g_x[1][e] = turns_x[e];
  for (int j = 0; j < 2; ++j) {
    const int p = 3 * j + plate, s = 3 * j + screen;
    const double to_plate = kSign[j] * per_a, to_screen = to_plate * tap_;
    for (const auto& [row, factor] : {std::pair{p, to_plate}, std::pair{s, to_screen}}) {
      m[row][F] += factor * turns_a;
      m[row][Y + 0] += factor * turns_k;
      m[row][Y + 1] -= factor;
      for (int e = 0; e < kLocal; ++e) m[row][e] += factor * turns_x[e];
    }
    if (pair_.screens == ScreenConnection::supply && pair_.screen_ohm > 0) {
      m[s][F] += pair_.screen_ohm * screens_a;
      m[s][Y + 0] += pair_.screen_ohm * screens_k;
      for (int e = 0; e < kLocal; ++e) m[s][e] += pair_.screen_ohm * screens_x[e];
    }
  }
}

/// Residual (mean square, volts) at `u`; with `make_step` Newton's step in step_.
double PairSolver::pass(const Unknowns& u, double amplitude, const Instants& at, bool make_step) {
  double border[kStill][kStill + 1] = {};
  double means[kStill] = {};
  double size = 0;
  const double by_turns = 0.25 * reflected_ohm_;  // ampere-turns count in volts
  Block m;
  double g[kStill], g_x[kStill][kLocal];
  for (int k = 0; k < at.count; ++k) {
    const auto n = static_cast<std::size_t>(k);
    equations(u, k, amplitude, m, g, g_x);
    for (int r = 0; r < kLocal; ++r) size += at.mean[n] * square(m[r][kLocal]);
    for (int r = 0; r < kStill; ++r) means[r] += at.mean[n] * g[r];
    if (!make_step) continue;
    double sum_k[kStill] = {};
    for (int r = 0; r < kStill; ++r)
      for (int e = 0; e < kLocal; ++e)
        if (r != 2 && r != 3) sum_k[r] -= g_x[r][e];
    for (int j = 0; j < 2; ++j) {  // only its current hangs on the cathode, not the grid itself
      const auto slope = g_x[2 + j][3 * j + grid];
      sum_k[2 + j] = slope > 0 ? 1 - slope : 0;
    }
    solve_small<kLocal + 1 + kStill>(kLocal, 1 + kStill, m);
    for (int r = 0; r < kStill; ++r) {
      border[r][0] += at.mean[n] * sum_k[r];
      for (int e = 0; e < kLocal; ++e) {
        for (int c = 0; c < kStill; ++c) border[r][c] -= at.mean[n] * g_x[r][e] * m[e][kLocal + 1 + c];
        border[r][kStill] += at.mean[n] * g_x[r][e] * m[e][kLocal];
      }
    }
    for (int e = 0; e < kLocal; ++e) step_.x[n][static_cast<std::size_t>(e)] = m[e][kLocal];
    for (int e = 0; e < kLocal; ++e)
      for (int c = 0; c < kStill; ++c)
        by_still_[n][static_cast<std::size_t>(e)][static_cast<std::size_t>(c)] = m[e][kLocal + 1 + c];
  }
  // What stands still: each condition is its mean plus what hangs on y alone.
  means[0] += u.y[0];
  if (pair_.cathode_ohm == 0 || pair_.bias == OutputBias::fixed) means[0] = u.y[0];
  for (int j = 0; j < 2; ++j)
    if (!(pair_.grid_leak_ohm > 0)) means[2 + j] = u.y[static_cast<std::size_t>(2 + j)] - pair_.bias_v;
  size += square(means[0]) + square(by_turns * means[1]) + square(means[2]) + square(means[3]);
  if (!make_step) return size;

  border[0][0] += 1;
  border[1][1] -= 1;
  if (pair_.bias == OutputBias::fixed) {
    for (double& v : border[0]) v = 0;
    border[0][0] = 1;
  }
  for (int j = 0; j < 2; ++j)
    if (!(pair_.grid_leak_ohm > 0)) {
      for (double& v : border[2 + j]) v = 0;
      border[2 + j][2 + j] = 1;
    }
  for (int r = 0; r < kStill; ++r) border[r][kStill] -= means[r];
  solve_small<kStill + 1>(kStill, 1, border);
  for (int r = 0; r < kStill; ++r) step_.y[static_cast<std::size_t>(r)] = border[r][kStill];
  for (int k = 0; k < at.count; ++k) {
    const auto n = static_cast<std::size_t>(k);
    for (std::size_t e = 0; e < kLocal; ++e) {
      double v = -step_.x[n][e];
      for (std::size_t c = 0; c < kStill; ++c) v -= by_still_[n][e][c] * step_.y[c];
      step_.x[n][e] = v;
    }
  }
  return size;
}

Solved PairSolver::newton(double amplitude, const Instants& at) {
  for (int n = 0; n < kMostSteps; ++n) {
    const double before = pass(now_, amplitude, at, true);
    ++steps_;
    double largest = 0;
    for (int k = 0; k < at.count; ++k)
      for (const double v : step_.x[static_cast<std::size_t>(k)]) largest = std::max(largest, std::fabs(v));
    largest = std::max({largest, std::fabs(step_.y[0]), std::fabs(step_.y[2]), std::fabs(step_.y[3])});
    if (!std::isfinite(largest) || !std::isfinite(before)) return Solved::no_convergence;
    double share = 1;
    for (int halved = 0;; ++halved, share *= 0.5) {
      tried_ = now_;
      for (int k = 0; k < at.count; ++k)
        for (std::size_t e = 0; e < kLocal; ++e)
          tried_.x[static_cast<std::size_t>(k)][e] += share * step_.x[static_cast<std::size_t>(k)][e];
      for (std::size_t r = 0; r < kStill; ++r) tried_.y[r] += share * step_.y[r];
      if (largest < kSettled_v) break;
      const double after = pass(tried_, amplitude, at, false);
      if (after < before || after < square(1e-9)) break;
      if (halved == kMostHalvings) return Solved::no_convergence;
    }
    now_ = tried_;
    if (largest < kSettled_v) return Solved::yes;
  }
  return Solved::no_convergence;
}

/// Currents are explicit where the windings' resistance is left out, and fall as the cathode rises.
void PairSolver::start_rest() {
  now_ = Unknowns{};
  const bool own = pair_.screens == ScreenConnection::supply;
  for (int j = 0; j < 2; ++j) {
    now_.x[0][static_cast<std::size_t>(3 * j + plate)] = pair_.supply_v;
    now_.x[0][static_cast<std::size_t>(3 * j + screen)] = own ? pair_.screen_v : pair_.supply_v;
    now_.x[0][static_cast<std::size_t>(3 * j + grid)] = pair_.bias_v;
    now_.y[static_cast<std::size_t>(2 + j)] = pair_.bias_v;
  }
  const auto too_high = [&](double cathode_v) {
    double a = 0;
    for (int j = 0; j < 2; ++j) {
      const Valve v = valve_at(now_.x[0].data(), cathode_v, j);
      a += v.c.plate_a + v.c.screen_a;
    }
    return cathode_v - pair_.cathode_ohm * a;
  };
  if (pair_.bias == OutputBias::cathode) now_.y[0] = find_root(too_high, 0, 0.9 * pair_.supply_v, 1e-3).x;
  for (int j = 0; j < 2; ++j) {
    const Valve v = valve_at(now_.x[0].data(), now_.y[0], j);
    now_.y[1] += kSign[j] * (v.c.plate_a + tap_ * v.c.screen_a);
  }
}

Solved PairSolver::rest(PairRest& out) {
  out = PairRest{};
  drive_ = PairDrive{};
  amplitude_ = 0;
  steps_ = 0;
  start_rest();
  out.solved = newton(0, rest_instant());
  if (out.solved != Solved::yes) return out.solved = Solved::no_rest_point;
  for (std::size_t k = 1; k < kCycleInstants; ++k) now_.x[k] = now_.x[0];
  rest_ = now_;
  out.cathode_v = rest_.y[0];
  for (int j = 0; j < 2; ++j) {
    const auto n = static_cast<std::size_t>(j);
    const Valve v = valve_at(rest_.x[0].data(), rest_.y[0], j);
    const double* x = rest_.x[0].data() + 3 * j;
    out.plate_v[n] = x[plate];
    out.screen_v[n] = x[screen];
    out.plate_current_a[n] = rest_plate_a_[n] = v.c.plate_a;
    out.screen_current_a[n] = v.c.screen_a;
    out.plate_w[n] = v.c.plate_a * (x[plate] - rest_.y[0]);
    out.screen_w[n] = v.c.screen_a * (x[screen] - rest_.y[0]);
    out.gm_s[n] = v.c.plate_per_grid_s;
    out.rp_ohm[n] = 1 / v.c.plate_per_plate_s;
  }
  const double load_ohm = pair_.transformer.load_ohm;
  const double at_one = linear_gain(load_ohm), at_two = linear_gain(2 * load_ohm);
  out.gain = at_one;
  out.output_impedance_ohm = (at_two - at_one) / (at_one / load_ohm - at_two / (2 * load_ohm));
  return out.solved;
}

/// Gain of the pair linearised at rest into any load, the transformer's ratio kept.
double PairSolver::linear_gain(double load_ohm) const {
  PairSolver other(*this);
  const double whole_ohm = load_ohm + pair_.transformer.secondary_ohm;
  other.reflected_ohm_ = square(ratio_) * whole_ohm;
  Block m;
  double g[kStill], g_x[kStill][kLocal];
  other.equations(rest_, 0, 0, m, g, g_x);
  for (auto& row : m) std::fill(row + kLocal, std::end(row), 0.0);
  m[grid][kLocal] = 1;
  m[3 + grid][kLocal] = -1;
  solve_small<kLocal + 1 + kStill>(kLocal, 1, m);
  double turns_a = 0;
  for (int e = 0; e < kLocal; ++e) turns_a += g_x[1][e] * m[e][kLocal];
  return 0.5 * other.reflected_ohm_ * turns_a / ratio_ * load_ohm / whole_ohm;
}

void PairSolver::drive_with(const PairDrive& drive) {
  drive_ = drive;
  now_ = rest_;
  amplitude_ = 0;
}

void PairSolver::change_drive(const PairDrive& drive) {
  drive_ = drive;
}

void PairSolver::drive_with_cosine(const Pair& share) {
  PairDrive drive;
  for (std::size_t k = 0; k < kCycleInstants; ++k)
    for (std::size_t j = 0; j < 2; ++j) drive.wave[j][k] = kSign[j] * share[j] * instants().cosine[k];
  drive_with(drive);
}

Solved PairSolver::solve_from_here(double amplitude) {
  Unknowns start = now_;
  double from = amplitude_, to = amplitude;
  for (int tries = 0; tries < kMostTries; ++tries) {
    if (newton(to, instants()) == Solved::yes) {
      amplitude_ = from = to;
      if (to == amplitude) return Solved::yes;
      start = now_;
      to = amplitude;
    } else {
      if (to == from) {  // another drive at the same amplitude, too far off: from nothing again
        start = rest_;
        from = 0;
      }
      now_ = start;
      to = from + 0.5 * (to - from);
    }
  }
  return Solved::no_convergence;
}

Solved PairSolver::at(double amplitude, PairState& out) {
  out = PairState{};
  steps_ = 0;
  out.solved = solve_from_here(amplitude);
  out.newton_steps = steps_;
  if (out.solved == Solved::yes) describe(amplitude, out);
  return out.solved;
}

void PairSolver::describe(double amplitude, PairState& out) const {
  const Instants& t = instants();
  const double cathode_v = now_.y[0], load_ohm = pair_.transformer.load_ohm;
  const double whole_ohm = load_ohm + pair_.transformer.secondary_ohm;
  out.cathode_v = cathode_v;
  for (std::size_t j = 0; j < 2; ++j) {
    double first = 0;
    for (int k = 0; k < t.count; ++k)
      first += t.harmonic[1][static_cast<std::size_t>(k)] * drive_.wave[j][static_cast<std::size_t>(k)];
    out.drive_peak_v[j] = std::fabs(amplitude * first);
  }
  constexpr double kFar = std::numeric_limits<double>::infinity();
  out.grid_to_cathode_peak_v = out.plate_current_high_a = out.grid_current_peak_a = {-kFar, -kFar};
  out.plate_current_low_a = out.plate_to_cathode_low_v = {kFar, kFar};
  PairPowers& w = out.powers;
  for (int k = 0; k < t.count; ++k) {
    const auto n = static_cast<std::size_t>(k);
    const double mean = t.mean[n];
    double turns_a = -now_.y[1], screens_a = 0, cathodes_a = 0;
    for (int j = 0; j < 2; ++j) {
      const auto i = static_cast<std::size_t>(j);
      const double* x = now_.x[n].data() + 3 * j;
      const Valve v = valve_at(now_.x[n].data(), cathode_v, j);
      const double plate_a = v.c.plate_a, screen_a = v.c.screen_a;
      turns_a += kSign[j] * (plate_a + tap_ * screen_a);
      screens_a += screen_a;
      cathodes_a += plate_a + screen_a + v.grid_a;
      out.grid_to_cathode_peak_v[i] = std::max(out.grid_to_cathode_peak_v[i], x[grid] - cathode_v);
      out.grid_current_peak_a[i] = std::max(out.grid_current_peak_a[i], v.grid_a);
      out.plate_current_high_a[i] = std::max(out.plate_current_high_a[i], plate_a);
      out.plate_current_low_a[i] = std::min(out.plate_current_low_a[i], plate_a);
      out.plate_to_cathode_low_v[i] = std::min(out.plate_to_cathode_low_v[i], x[plate] - cathode_v);
      out.plate_current_mean_a[i] += mean * plate_a;
      out.screen_current_mean_a[i] += mean * screen_a;
      out.grid_current_mean_a[i] += mean * v.grid_a;
      out.grid_shift_v[i] += mean * (x[grid] - pair_.bias_v);
      w.plate_w[i] += mean * plate_a * (x[plate] - cathode_v);
      w.screen_w[i] += mean * screen_a * (x[screen] - cathode_v);
      w.grid_w[i] += mean * v.grid_a * (x[grid] - cathode_v);
      w.driver_w += mean * v.grid_a * x[grid];
      const bool own = pair_.screens == ScreenConnection::supply;
      w.supply_w += mean * pair_.supply_v * (plate_a + (own ? 0 : screen_a));
      if (own) w.screen_supply_w += mean * pair_.screen_v * screen_a;
      w.primary_w +=
          mean * half_ohm_ * ((1 - tap_) * square(plate_a) + tap_ * square(plate_a + (own ? 0 : screen_a)));
    }
    const double emf_v = 0.5 * reflected_ohm_ * turns_a / ratio_;  // of the secondary
    load_v_[n] = emf_v * load_ohm / whole_ohm;
    w.load_w += mean * square(load_v_[n]) / load_ohm;
    w.secondary_w += mean * square(emf_v / whole_ohm) * pair_.transformer.secondary_ohm;
    if (pair_.screens == ScreenConnection::supply)
      w.screen_resistor_w += mean * pair_.screen_ohm * square(screens_a);
    w.cathode_resistor_w += mean * cathodes_a * cathode_v;
  }
  out.power_w = w.load_w;
  double over = 0;
  for (std::size_t h = 0; h <= kHarmonics; ++h) {
    for (int k = 0; k < t.count; ++k)
      out.load_v[h] += t.harmonic[h][static_cast<std::size_t>(k)] * load_v_[static_cast<std::size_t>(k)];
    if (h > 1) over += square(out.load_v[h]);
  }
  out.thd_pct = 100 * std::sqrt(over) / std::fabs(out.load_v[1]);
}

/// Raises the drive until `value` passes `wanted`, then closes in on the place.
template <class Value>
Solved PairSolver::follow(double wanted, double first, double most, Value value, PairState& out) {
  now_ = rest_;
  amplitude_ = 0;
  double low = 0, high = first;
  for (;; high *= kDriveStep) {
    if (high > most) {
      out.solved = Solved::target_out_of_reach;
      return out.solved;
    }
    PairState state;
    if (at(high, state) != Solved::yes) {
      out.solved = state.solved;
      return out.solved;
    }
    out = state;
    if (value(out) >= wanted) break;
    low = high;
  }
  const auto short_of = [&](double amplitude) {
    if (amplitude == 0) return -1.0;
    at(amplitude, out);
    return value(out) / wanted - 1;
  };
  const ScalarRoot root = find_root(short_of, low, high, 1e-10 * high);
  return at(root.x, out);
}

namespace {

double swing_to_cathode(const OutputPair& pair, double cathode_v) {
  return std::max(1.0, cathode_v - pair.bias_v);
}

}  // namespace

Solved PairSolver::at_power(double watts, PairState& out) {
  const double full = swing_to_cathode(pair_, rest_.y[0]);
  // Amplitudes, not powers: they go up as a straight line, which regula falsi likes.
  return follow(
      std::sqrt(watts), kFirstShare * full, kMostDrives * full,
      [](const PairState& s) { return std::sqrt(s.power_w); }, out);
}

Solved PairSolver::where_grids_conduct(PairState& out) {
  const double full = swing_to_cathode(pair_, rest_.y[0]);
  const auto left = [&](const PairState& s) {
    double least = 1e9;
    for (std::size_t j = 0; j < 2; ++j)
      least = std::min(least, pair_.valve[j]->grid_conduction_v - s.grid_to_cathode_peak_v[j]);
    return 1 - least / full;
  };
  return follow(1, kFirstShare * full, kMostDrives * full, left, out);
}

Solved PairSolver::where_cut_off(double share, PairState& out) {
  const double full = swing_to_cathode(pair_, rest_.y[0]);
  const auto gone = [&](const PairState& s) {
    return std::max((rest_plate_a_[0] - s.plate_current_low_a[0]) / rest_plate_a_[0],
                    (rest_plate_a_[1] - s.plate_current_low_a[1]) / rest_plate_a_[1]);
  };
  return follow(1 - share, kFirstShare * full, kMostDrives * full, gone, out);
}

PairFigures pair_figures(const OutputPair& pair, std::optional<double> watts) {
  constexpr double kCutOff = 0.01;  // of the current at rest, as the clean swing has it
  PairFigures out;
  out.watts_wanted = watts;
  PairSolver solver(pair);
  if (solver.rest(out.rest) != Solved::yes) return out;
  solver.drive_with_cosine();
  if (watts) solver.at_power(*watts, out.at_watts);
  solver.where_grids_conduct(out.before_grids_conduct);
  solver.where_cut_off(kCutOff, out.class_a_end);
  return out;
}

}  // namespace antiphase
