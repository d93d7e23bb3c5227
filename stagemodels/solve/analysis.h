/// From a circuit's equations to its figures: rest, small signal, steady state at a drive or at a
/// level, clean swing. One template for every circuit; what a circuit must give is listed in
/// DEVELOPERS.md ("how to add a circuit").
#pragma once

#include <Eigen/LU>

#include <algorithm>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/bordered_newton.h"
#include "stagemodels/solve/figures_of_waveforms.h"
#include "stagemodels/solve/two_tone_instants.h"

namespace antiphase {

/// How much is left of each condition of the clean swing: 1 at rest, 0 where it ends.
struct CleanMargins {
  double distortion = 1, grid = 1, cutoff = 1;
  double least() const { return std::fmin(distortion, std::fmin(grid, cutoff)); }
  CleanLimit which() const {
    if (grid <= distortion && grid <= cutoff) return CleanLimit::grid_conduction;
    return cutoff <= distortion ? CleanLimit::cutoff : CleanLimit::distortion;
  }
};

template <class Circuit>
class Analysis {
 public:
  using State = typename Circuit::State;
  static constexpr bool kOutputGrids = Circuit::kOutputGrids;

  /// `output_grids`: the grids of the output valves that the design names are part of the load. Allowed: only
  /// for circuits in real surroundings.
  explicit Analysis(const Design& design, bool output_grids = false)
      : design_(design), circuit_(design, output_grids), instants_(&cycle_instants(Circuit::kCycle)) {}

  /// Operating point and its linearisation. Everything else needs it to have been solved.
  void rest(OperatingPoint& out);
  void small_signal(const OperatingPoint& at, SmallSignal& out);

  /// Smallest drive at which the smaller output's fundamental is the target swing.
  void at_target(SteadyState& out, Waveforms& waves);
  /// Steady state at a given drive; the next call starts from this one. False if it does not settle.
  bool follow(double input_peak_v, SteadyState& out, Waveforms& waves);
  /// Allowed: after at_target of the same design (its state is the start). `grids_may_conduct`: conduction of
  /// the stage's own grids does not end it.
  void clean_swing(const OperatingPoint& at, const SteadyState& target, bool grids_may_conduct,
                   CleanSwing& out);
  /// Two tones with a common peak of the target swing.
  void intermodulation(IntermodulationFigures& out);
  /// Allowed: after at_target of the same design.
  void level_curve(const SteadyState& target, LevelCurve& out);

 private:
  static constexpr int L = Circuit::kLocal, B = Circuit::kBorder;
  /// Below this gain the stage is no amplifier and its target is not looked for.
  static constexpr double kLeastGain = 0.01;
  /// Levels of two outputs, or two drives, that differ by rounding and the last Newton step only.
  static constexpr double kEqualLevels = 1e-12;

  /// First guess at a drive: rest plus the small signal.
  State linear_state(double input_peak_v) const;
  bool solve(const DriveCondition& condition, State& state, int& steps) {
    return circuit_.solve(*instants_, condition, state, work_, steps) == NewtonEnd::settled;
  }
  /// Steady state at `drive`, from a neighbouring state that was settled `change` volts of drive below
  /// (0: not settled, or at another condition). Tries the tangent, then the state as it is, then walks up
  /// from nothing in ever smaller steps.
  bool solve_drive(double drive, double change, State& state, int& steps,
                   double settled_step_v = kSettledStep_v);
  /// Fundamental of an output as the drive condition counts it (positive in normal working).
  double level(const State& state, int output) const;
  int smaller_output(const State& state) const;
  /// Solves for the level; on success `output` is the smaller one.
  bool solve_level(double wanted_v, int& output, State& state, int& steps);
  /// Raises the drive in small steps until the level is passed, then closes in.
  bool climb_to_level(double wanted_v, State& state, int& steps, bool& saturated);
  /// Smallest drive for the target with the instants in force.
  Solved find_target(State& state, int& steps);

  CleanMargins margins(const OperatingPoint& at, const SteadyState& now, bool grids_may_conduct) const;
  /// Least |gain| from the source to the outputs: what turns a level into a first guess at the drive.
  double least_gain() const {
    const double first = std::abs(signal_[0]);
    return Circuit::kOutputs == 2 ? std::fmin(first, std::abs(signal_[1])) : first;
  }

  const Design& design_;
  Circuit circuit_;
  NewtonWork<L, B, Circuit::kCycle> work_;
  const Instants* instants_;  // of one tone; of two while they are solved
  State rest_;
  std::array<double, L> signal_{};  // node voltages per volt of the source, mid-band
  State target_;
  bool target_known_ = false;
  State followed_;
  double followed_drive_ = 0;  // 0: nothing to follow
};

template <class Circuit>
void Analysis<Circuit>::rest(OperatingPoint& out) {
  out = OperatingPoint{};
  const DriveCondition silent{.output = -1, .sign = 1, .value = 0};
  if (!circuit_.guess_rest(rest_)) {
    out.solved = Solved::no_rest_point;
    return;
  }
  NewtonWork<L, B, 1> work;
  int steps = 0;
  if (circuit_.solve(rest_instant(), silent, rest_, work, steps) != NewtonEnd::settled) {
    if (!circuit_.bracket_rest(rest_) ||
        circuit_.solve(rest_instant(), silent, rest_, work, steps) != NewtonEnd::settled) {
      out.solved = Solved::no_convergence;
      return;
    }
  }
  out.newton_steps = steps;
  Waveforms still;
  circuit_.describe(rest_instant(), rest_, still);
  describe_rest(design_, still, out);
  // Directly coupled to a first stage, the leak hangs on grid 1 itself.
  out.leak_node_v = direct_first_stage(design_)
                        ? out.grid_v[0]
                        : circuit_.leak_node_v(out.cathode_v, out.grid_v[0] + out.grid_v[1]);
  for (int i = 0; i < Circuit::kSections; ++i) {
    const TriodeCurrents c =
        circuit_.section(i).currents_at(out.grid_to_cathode_v[i], out.plate_to_cathode_v[i]);
    out.gm_s[i] = c.plate_per_grid_s;
    if (c.plate_per_plate_s > 0) {
      out.rp_ohm[i] = 1 / c.plate_per_plate_s;
      out.mu[i] = c.plate_per_grid_s / c.plate_per_plate_s;
    }
  }
  out.solved = Solved::yes;
}

template <class Circuit>
void Analysis<Circuit>::small_signal(const OperatingPoint& at, SmallSignal& out) {
  out = SmallSignal{};
  InstantEquations<L, B> e;
  circuit_.at_rest(rest_, e);
  // Nodes that follow grid 1, whose voltage is given: all but the grid itself.
  constexpr int kInput = Circuit::kInputNode, M = kInput < 0 ? L : L - 1;
  constexpr int kGrid1 = Circuit::grid_1, kCathode = Circuit::cathode;
  const auto node = [](int n) { return kInput < 0 || n < kInput ? n : n + 1; };
  const auto by_node = [&](int r, int c) { return Circuit::kPattern.F_x[r][c] ? e.F_x[r][c] : 0.0; };
  Eigen::Matrix<double, M, M> loaded;
  Eigen::Matrix<double, M, 1> from_grid;
  for (int r = 0; r < M; ++r) {
    for (int c = 0; c < M; ++c) loaded(r, c) = by_node(node(r), node(c));
    if constexpr (kInput < 0)
      from_grid(r) = Circuit::kPattern.F_y[r][kGrid1] ? -e.F_y[r][kGrid1] : 0.0;
    else
      from_grid(r) = -by_node(node(r), kInput);
  }
  const Eigen::Matrix<double, M, 1> response = loaded.inverse() * from_grid;
  for (int o = 0; o < Circuit::kOutputs; ++o) out.gain[o] = response(o);
  out.cathode_gain = response(M - 1);
  double per_source = 1;  // grid 1 over the source
  if constexpr (kInput >= 0) {
    per_source =
        e.F_y[kInput][kGrid1] / (-e.F_x[kInput][kInput] - e.F_x[kInput][kCathode] * out.cathode_gain);
    signal_[kInput] = per_source;
  }
  for (int r = 0; r < M; ++r) signal_[node(r)] = response(r) * per_source;
  double grid_siemens = 0;
  if constexpr (Circuit::kFirstStage) {
    out.first_stage_gain = response(Circuit::first_plate);
    grid_siemens = design_.first_section()
                       .currents_at(at.first.grid_to_cathode_v, at.first.plate_to_cathode_v)
                       .grid_per_grid_s;
  } else {
    grid_siemens =
        circuit_.section(0).currents_at(at.grid_to_cathode_v[0], at.plate_to_cathode_v[0]).grid_per_grid_s;
  }
  const double input = circuit_.input_siemens(out.cathode_gain) + grid_siemens * (1 - out.cathode_gain);
  out.input_ohm = input > 0 ? 1 / input : 0;

  Eigen::Matrix<double, M, M> unloaded = loaded;
  for (int o = 0; o < Circuit::kOutputs; ++o) unloaded(o, o) += circuit_.load_siemens(o);
  const Eigen::Matrix<double, M, M> per_ampere = unloaded.inverse();
  for (int o = 0; o < Circuit::kOutputs; ++o) {
    out.output_impedance_alone_ohm[o] = -per_ampere(o, o);
    out.output_impedance_differential_ohm[o] =
        Circuit::kOutputs == 2 ? -per_ampere(o, o) + per_ampere(o, 1 - o) : -per_ampere(o, o);
  }
  if (Circuit::kOutputs == 2) {
    const double a = std::abs(out.gain[0]), b = std::abs(out.gain[1]);
    out.balance_pct = a + b > 0 ? 200 * (a - b) / (a + b) : 0;
  }
}

template <class Circuit>
typename Analysis<Circuit>::State Analysis<Circuit>::linear_state(double input_peak_v) const {
  State state;
  for (int r = 0; r < L; ++r)
    for (int k = 0; k < instants_->count; ++k)
      state.x[r][k] = rest_.x[r][0] + signal_[r] * input_peak_v * instants_->cosine[k];
  state.y = rest_.y;
  state.y[0] = input_peak_v;
  return state;
}

template <class Circuit>
bool Analysis<Circuit>::solve_drive(double drive, double change, State& state, int& steps,
                                    double settled_step_v) {
  const DriveCondition condition{.output = -1, .sign = 1, .value = drive, .settled_step_v = settled_step_v};
  const State start = state;
  if (change != 0) {
    newton::predict(work_, change, state);
    if (solve(condition, state, steps)) return true;
    state = start;
  }
  if (solve(condition, state, steps)) return true;
  constexpr int kMostPieces = 256;
  for (int pieces = 1; pieces <= kMostPieces; pieces *= 4) {
    bool solved = true;
    for (int p = 1; p <= pieces && solved; ++p) {
      const double part = drive * p / pieces;
      if (p == 1) state = linear_state(part);
      solved = solve({.output = -1, .sign = 1, .value = part}, state, steps);
    }
    if (solved) return true;
  }
  return false;
}

template <class Circuit>
double Analysis<Circuit>::level(const State& state, int output) const {
  double sum = 0;
  for (int k = 0; k < instants_->count; ++k) sum += instants_->harmonic[1][k] * state.x[output][k];
  return sum * Circuit::output_sign(output);
}

template <class Circuit>
int Analysis<Circuit>::smaller_output(const State& state) const {
  if (Circuit::kOutputs == 1) return 0;
  return level(state, 0) <= level(state, 1) ? 0 : 1;
}

template <class Circuit>
bool Analysis<Circuit>::solve_level(double wanted_v, int& output, State& state, int& steps) {
  for (int tries = 0; tries < Circuit::kOutputs; ++tries) {
    const DriveCondition condition{.output = output, .sign = Circuit::output_sign(output), .value = wanted_v};
    if (!solve(condition, state, steps) || state.y[0] <= 0) return false;
    const int other = Circuit::kOutputs - 1 - output;
    if (Circuit::kOutputs == 1 || level(state, other) >= wanted_v * (1 - kEqualLevels)) return true;
    output = other;  // the other one is smaller at this level: ask for it instead
  }
  return false;  // each is the smaller one where the other has the level
}

template <class Circuit>
bool Analysis<Circuit>::climb_to_level(double wanted_v, State& state, int& steps, bool& saturated) {
  constexpr double kGrowth = 1.3, kMostRise = 60, kFirstShare = 0.5, kLeastShare = 1e-3, kLeastStart_v = 0.1;
  saturated = false;
  const double linear = wanted_v / least_gain();
  const auto reached = [&](const State& s) { return level(s, smaller_output(s)) >= wanted_v; };
  // Where hardly any gain is left at rest the straight line leads far off; a drive of the grid's own bias
  // does something to any section.
  const double bias = std::abs(rest_.y[Circuit::grid_1] - rest_.x[Circuit::cathode][0]);
  double low = std::fmin(kFirstShare * linear, std::fmax(bias, kLeastStart_v)), high = low;
  State below = linear_state(low);
  if (!solve_drive(low, 0, below, steps)) return false;
  while (reached(below)) {  // more gain than the straight line
    low *= kFirstShare;
    if (low < kLeastShare * linear || !solve_drive(low, 0, below, steps)) return false;
  }
  State above = below;
  for (high = low;;) {
    if (high > kMostRise * linear) {
      saturated = true;
      return false;
    }
    const double trial = high * kGrowth;
    if (!solve_drive(trial, trial - high, above, steps)) return false;
    high = trial;
    if (reached(above)) break;
    low = high;
    below = above;
  }
  // The level is between two drives. Asked for directly it takes a few steps; where it lies on a corner, at
  // which the outputs change places, the bracket is halved instead.
  constexpr int kMostHalvings = 50;
  for (int n = 0; n < kMostHalvings; ++n) {
    state = above;
    int output = smaller_output(above);
    if (solve_level(wanted_v, output, state, steps) && state.y[0] >= low && state.y[0] <= high) return true;
    if (high - low <= kEqualLevels * high) {
      state = above;
      return true;
    }
    const double middle = 0.5 * (low + high);
    State between = below;
    if (!solve_drive(middle, 0, between, steps)) return false;
    if (reached(between)) {
      high = middle;
      above = between;
    } else {
      low = middle;
      below = between;
    }
  }
  return false;
}

template <class Circuit>
Solved Analysis<Circuit>::find_target(State& state, int& steps) {
  const double wanted = design_.swing_peak_v, gain = least_gain();
  if (!(gain > kLeastGain)) return Solved::no_signal;
  const double linear = wanted / gain;
  int output = Circuit::kOutputs == 2 && std::abs(signal_[1]) < std::abs(signal_[0]) ? 1 : 0;
  state = linear_state(linear);
  // Far from the straight line there may be a second drive with the same level: take the slow road.
  constexpr double kFarFromLinear = 2;
  if (solve_level(wanted, output, state, steps) && state.y[0] <= kFarFromLinear * linear) return Solved::yes;
  bool saturated = false;
  if (climb_to_level(wanted, state, steps, saturated)) return Solved::yes;
  return saturated ? Solved::target_out_of_reach : Solved::no_convergence;
}

template <class Circuit>
void Analysis<Circuit>::at_target(SteadyState& out, Waveforms& waves) {
  State state;
  int steps = 0;
  const Solved end = find_target(state, steps);
  target_known_ = end == Solved::yes;
  if (target_known_) {
    target_ = state;
    circuit_.describe(*instants_, state, waves);
    describe_steady_state(design_, waves, state.y[0], out);
  } else {
    out = SteadyState{};
  }
  out.newton_steps = steps;
  out.solved = end;
}

template <class Circuit>
bool Analysis<Circuit>::follow(double input_peak_v, SteadyState& out, Waveforms& waves) {
  int steps = 0;
  if (!(followed_drive_ > 0)) followed_ = linear_state(input_peak_v);
  const bool solved =
      solve_drive(input_peak_v, followed_drive_ > 0 ? input_peak_v - followed_drive_ : 0, followed_, steps);
  followed_drive_ = solved ? input_peak_v : 0;
  if (solved) {
    circuit_.describe(*instants_, followed_, waves);
    describe_steady_state(design_, waves, input_peak_v, out);
  } else {
    out = SteadyState{};
  }
  out.newton_steps = steps;
  out.solved = solved ? Solved::yes : Solved::no_convergence;
  return solved;
}

}  // namespace antiphase

#include "stagemodels/solve/clean_swing.h"
#include "stagemodels/solve/level_curve.h"
#include "stagemodels/solve/two_tones.h"
