/// From a circuit's equations to its figures: rest, small signal, steady state at a drive or at a
/// level, clean swing. One template for every circuit; what a circuit must give is listed in
/// DEVELOPERS.md ("how to add a circuit").
#pragma once

#include <Eigen/LU>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/bordered_newton.h"
#include "stagemodels/solve/figures_of_waveforms.h"

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

  explicit Analysis(const Design& design)
      : design_(design), circuit_(design), newton_(circuit_), instants_(cycle_instants()) {}

  /// Operating point and its linearisation. Everything else needs it to have been solved.
  void rest(OperatingPoint& out);
  void small_signal(const OperatingPoint& at, SmallSignal& out);

  /// Smallest drive at which the smaller output's fundamental is the target swing.
  void at_target(const SmallSignal& small, SteadyState& out, Waveforms& waves);
  /// Steady state at a given drive.
  void at_drive(double input_peak_v, SteadyState& out, Waveforms& waves);
  /// Allowed: after at_target of the same design (its state is the start).
  void clean_swing(const OperatingPoint& at, const SmallSignal& small, const SteadyState& target,
                   CleanSwing& out);

 private:
  static constexpr int L = Circuit::kLocal, B = Circuit::kBorder;
  /// Below this gain the stage is no amplifier and its target is not looked for.
  static constexpr double kLeastGain = 0.01;

  /// First guess at a drive: rest plus the small signal.
  State linear_state(double input_peak_v) const;
  bool solve(const DriveCondition& condition, State& state, int& steps) {
    return newton_.solve(instants_, condition, state, steps) == NewtonEnd::settled;
  }
  /// Steady state at `drive`, from a neighbouring state that was settled `change` volts of drive below
  /// (0: not settled, or at another condition). Tries the tangent, then the state as it is, then walks up
  /// from nothing in ever smaller steps.
  bool solve_drive(double drive, double change, State& state, int& steps);
  /// Fundamental of an output as the drive condition counts it (positive in normal working).
  double level(const State& state, int output) const;
  int smaller_output(const State& state) const;
  /// Solves for the level; on success `output` is the smaller one.
  bool solve_level(double wanted_v, int& output, State& state, int& steps);
  /// Raises the drive in small steps until the level is passed, then closes in.
  bool climb_to_level(double wanted_v, const SmallSignal& small, int& output, State& state, int& steps,
                      bool& saturated);

  CleanMargins margins(const OperatingPoint& at, const SteadyState& now) const;
  /// Least |gain| of the outputs: what turns a level into a first guess at the drive.
  double least_gain(const SmallSignal& small) const {
    const double first = std::abs(small.gain[0]);
    return Circuit::kOutputs == 2 ? std::fmin(first, std::abs(small.gain[1])) : first;
  }

  const Design& design_;
  Circuit circuit_;
  BorderedNewton<Circuit> newton_;
  const Instants& instants_;
  State rest_;
  std::array<double, L> signal_{};  // node voltages per volt of grid-1 signal, mid-band
  State target_;
  int target_output_ = 0;
  bool target_known_ = false;
};

template <class Circuit>
void Analysis<Circuit>::rest(OperatingPoint& out) {
  out = OperatingPoint{};
  const DriveCondition silent{.output = -1, .sign = 1, .value = 0};
  if (!circuit_.guess_rest(rest_)) {
    out.solved = Solved::no_rest_point;
    return;
  }
  int steps = 0;
  if (newton_.solve(rest_instant(), silent, rest_, steps) != NewtonEnd::settled) {
    if (!circuit_.bracket_rest(rest_) ||
        newton_.solve(rest_instant(), silent, rest_, steps) != NewtonEnd::settled) {
      out.solved = Solved::no_convergence;
      return;
    }
  }
  out.newton_steps = steps;
  Waveforms still;
  circuit_.describe(rest_instant(), rest_, still);
  describe_rest(design_, still, out);
  out.leak_node_v = circuit_.leak_node_v(out.cathode_v, out.grid_v[0] + out.grid_v[1]);
  for (int i = 0; i < Circuit::kSections; ++i) {
    const TriodeCurrents c =
        currents_at(circuit_.law(i), out.grid_to_cathode_v[i], out.plate_to_cathode_v[i]);
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
  CycleEquations<L, B> eq;
  circuit_.assemble(rest_instant(), rest_, eq);
  constexpr int kGrid1 = B - Circuit::kSections;  // the grids' means are the last of y
  using Matrix = Eigen::Matrix<double, L, L>;
  using Vector = Eigen::Matrix<double, L, 1>;
  Matrix loaded;
  Vector from_grid;
  for (int r = 0; r < L; ++r) {
    for (int c = 0; c < L; ++c) loaded(r, c) = eq.F_x[r][c][0];
    from_grid(r) = -eq.F_y[r][kGrid1][0];
  }
  const Vector response = loaded.partialPivLu().solve(from_grid);
  for (int r = 0; r < L; ++r) signal_[r] = response(r);
  for (int o = 0; o < Circuit::kOutputs; ++o) out.gain[o] = response(o);
  out.cathode_gain = response(L - 1);
  const double grid_siemens =
      currents_at(circuit_.law(0), at.grid_to_cathode_v[0], at.plate_to_cathode_v[0]).grid_per_grid_s;
  const double input = circuit_.input_siemens(out.cathode_gain) + grid_siemens * (1 - out.cathode_gain);
  out.input_ohm = input > 0 ? 1 / input : 0;

  Matrix unloaded = loaded;
  for (int o = 0; o < Circuit::kOutputs; ++o) unloaded(o, o) += circuit_.load_siemens(o);
  const Matrix per_ampere = unloaded.partialPivLu().inverse();
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
    for (int k = 0; k < instants_.count; ++k)
      state.x[r][k] = rest_.x[r][0] + signal_[r] * input_peak_v * instants_.cosine[k];
  state.y = rest_.y;
  state.y[0] = input_peak_v;
  return state;
}

template <class Circuit>
bool Analysis<Circuit>::solve_drive(double drive, double change, State& state, int& steps) {
  const DriveCondition condition{.output = -1, .sign = 1, .value = drive};
  const State start = state;
  if (change != 0) {
    newton_.predict(instants_, change, state);
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
  for (int k = 0; k < instants_.count; ++k) sum += instants_.harmonic[1][k] * state.x[output][k];
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
    if (Circuit::kOutputs == 1 || level(state, other) >= wanted_v * (1 - 1e-12)) return true;
    output = other;  // the other one is smaller at this level: ask for it instead
  }
  return true;  // equal to rounding
}

template <class Circuit>
bool Analysis<Circuit>::climb_to_level(double wanted_v, const SmallSignal& small, int& output, State& state,
                                       int& steps, bool& saturated) {
  constexpr double kGrowth = 1.25, kMostRise = 60;
  saturated = false;
  const double gain = least_gain(small);
  const double linear = wanted_v / gain;
  double input = 0.25 * linear;
  State last = linear_state(input);
  if (!solve_drive(input, 0, last, steps)) return false;
  while (level(last, smaller_output(last)) < wanted_v) {
    if (input > kMostRise * linear) {
      saturated = true;
      return false;
    }
    const double trial = input * kGrowth;
    if (!solve_drive(trial, trial - input, last, steps)) return false;
    input = trial;
  }
  output = smaller_output(last);
  state = last;
  return solve_level(wanted_v, output, state, steps);
}

template <class Circuit>
void Analysis<Circuit>::at_target(const SmallSignal& small, SteadyState& out, Waveforms& waves) {
  out = SteadyState{};
  target_known_ = false;
  const double wanted = design_.swing_peak_v;
  const double gain = least_gain(small);
  int output = Circuit::kOutputs == 2 && std::abs(small.gain[1]) < std::abs(small.gain[0]) ? 1 : 0;
  if (!(gain > kLeastGain)) {
    out.solved = Solved::no_signal;
    return;
  }
  const double linear = wanted / gain;
  State state = linear_state(linear);
  int steps = 0;
  bool solved = solve_level(wanted, output, state, steps);
  // Far from the straight line there may be a second drive with the same level: take the slow road.
  constexpr double kFarFromLinear = 2;
  if (!solved || state.y[0] > kFarFromLinear * linear) {
    bool saturated = false;
    solved = climb_to_level(wanted, small, output, state, steps, saturated);
    if (!solved) {
      out.solved = saturated ? Solved::target_out_of_reach : Solved::no_convergence;
      out.newton_steps = steps;
      return;
    }
  }
  target_ = state;
  target_output_ = output;
  target_known_ = true;
  circuit_.describe(instants_, state, waves);
  describe_steady_state(design_, instants_, waves, state.y[0], out);
  out.newton_steps = steps;
  out.solved = Solved::yes;
}

template <class Circuit>
void Analysis<Circuit>::at_drive(double input_peak_v, SteadyState& out, Waveforms& waves) {
  out = SteadyState{};
  State state = linear_state(input_peak_v);
  int steps = 0;
  const bool solved = solve_drive(input_peak_v, 0, state, steps);
  if (solved) {
    circuit_.describe(instants_, state, waves);
    describe_steady_state(design_, instants_, waves, input_peak_v, out);
  }
  out.newton_steps = steps;
  out.solved = solved ? Solved::yes : Solved::no_convergence;
}

}  // namespace antiphase

#include "stagemodels/solve/clean_swing.h"
