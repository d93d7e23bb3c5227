#include "stagemodels/solve/analysis.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/solve/figures_of_waveforms.h"
#include "stagemodels/solve/small_system.h"

namespace antiphase {

Analysis::Analysis(const Design& design, Surroundings around, int instants, bool output_grids)
    : design_(design),
      solver_(make_solver(design, {around, instants, output_grids}, room_)),
      form_(solver_.form()),
      instants_(&cycle_instants(instants)) {}

void Analysis::rest(OperatingPoint& out) {
  out = OperatingPoint{};
  const DriveCondition silent{.output = -1, .sign = 1, .value = 0};
  if (!solver_.start_rest(false, rest_)) {
    out.solved = Solved::no_rest_point;
    return;
  }
  int steps = 0;
  if (solver_.solve(rest_instant(), silent, rest_, steps) != NewtonEnd::settled) {
    if (!solver_.start_rest(true, rest_) ||
        solver_.solve(rest_instant(), silent, rest_, steps) != NewtonEnd::settled) {
      out.solved = Solved::no_convergence;
      return;
    }
  }
  out.newton_steps = steps;
  Waveforms still;
  solver_.describe(rest_instant(), rest_, still);
  describe_rest(design_, still, out);
  rest_bias_v_ = form_.first_stage ? out.first.grid_to_cathode_v : out.grid_to_cathode_v[0];
  out.leak_node_v = solver_.leak_foot_v(rest_);
  for (int i = 0; i < form_.sections; ++i) {
    const TriodeCurrents& c = at_rest_[i] =
        design_.section(i).currents_at(out.grid_to_cathode_v[i], out.plate_to_cathode_v[i]);
    out.gm_s[i] = c.plate_per_grid_s;
    if (c.plate_per_plate_s > 0) {
      out.rp_ohm[i] = 1 / c.plate_per_plate_s;
      out.mu[i] = c.plate_per_grid_s / c.plate_per_plate_s;
    }
  }
  for (const int number : kOtherSections)
    if (form_.has[number]) {
      const SectionRest& own = own_rest(out, number);
      at_rest_[number] =
          section_numbered(design_, number)
              .currents_at(own.grid_to_cathode_v, own.plate_to_cathode_v, own.screen_to_cathode_v);
    }
  out.solved = Solved::yes;
}

void Analysis::small_signal(SmallSignal& out) {
  constexpr int kMost = LinearisedCycle::kMost;
  out = SmallSignal{};
  LinearisedCycle e;
  solver_.linearise(at_rest_, e);
  // The nodes that follow the driven grid, whose voltage is given: all but the grid itself.
  const int grid = form_.driven_grid_row, nodes = grid < 0 ? e.nodes : e.nodes - 1;
  const auto row = [&](int n) { return grid < 0 || n < grid ? n : n + 1; };
  double loaded[kMost][kMost + 1], unloaded[kMost][kMost + 2];
  for (int r = 0; r < nodes; ++r) {
    for (int c = 0; c < nodes; ++c) loaded[r][c] = unloaded[r][c] = e.by_node[row(r)][row(c)];
    loaded[r][nodes] = grid < 0 ? -e.by_source[row(r)] : -e.by_node[row(r)][grid];
    for (int o = 0; o < form_.outputs; ++o) unloaded[r][nodes + o] = 0;
  }
  solve_small(nodes, 1, loaded);
  std::array<double, kMost> by_row{};  // of each node per volt at the grid
  for (int n = 0; n < nodes; ++n) by_row[row(n)] = loaded[n][nodes];
  double per_source = 1;  // grid over source
  if (grid >= 0) {
    by_row[grid] = 1;
    double taken = 0;
    for (int n = 0; n < e.nodes; ++n) taken -= e.by_node[grid][n] * by_row[n];
    per_source = e.by_source[grid] / taken;
  }
  for (int n = 0; n < e.nodes; ++n) signal_[n] = by_row[n] * per_source;
  const auto response_at = [&](int node_row) { return node_row < 0 ? 0.0 : by_row[node_row]; };
  for (int o = 0; o < form_.outputs; ++o) out.gain[o] = response_at(form_.output_row[o]);
  out.cathode_gain = response_at(form_.driven_cathode_row);
  if (form_.first_stage) out.first_stage_gain = response_at(form_.first_output_row);
  const double grid_siemens = at_rest_[form_.driven_section].grid_per_grid_s;
  const double input = solver_.leak_siemens(signal_) + grid_siemens * (1 - out.cathode_gain);
  out.input_ohm = input > 0 ? 1 / input : 0;

  // Without the loads, an ampere out of each output's node in turn.
  std::array<int, 2> output{};
  for (int o = 0; o < form_.outputs; ++o) {
    const int at_row = form_.output_row[o];
    output[o] = grid >= 0 && at_row > grid ? at_row - 1 : at_row;
    unloaded[output[o]][output[o]] += solver_.load_siemens(o);
    unloaded[output[o]][nodes + o] = 1;
  }
  solve_small(nodes, form_.outputs, unloaded);
  for (int o = 0; o < form_.outputs; ++o) {
    const double alone = -unloaded[output[o]][nodes + o];
    out.output_impedance_alone_ohm[o] = alone;
    out.output_impedance_differential_ohm[o] =
        form_.outputs == 2 ? alone + unloaded[output[o]][nodes + 1 - o] : alone;
  }
  if (form_.outputs == 2) {
    const double a = std::abs(out.gain[0]), b = std::abs(out.gain[1]);
    out.balance_pct = a + b > 0 ? 200 * (a - b) / (a + b) : 0;
  }
}

CycleState Analysis::linear_state(double input_peak_v) const {
  CycleState state;
  for (int r = 0; r < form_.nodes; ++r)
    for (int k = 0; k < instants_->count; ++k)
      state.x[r][k] = rest_.x[r][0] + signal_[r] * input_peak_v * instants_->cosine[k];
  state.y = rest_.y;
  state.y[0] = input_peak_v;
  return state;
}

bool Analysis::solve_drive(double drive, double change, CycleState& state, int& steps,
                           double settled_step_v) {
  const DriveCondition condition{.output = -1, .sign = 1, .value = drive, .settled_step_v = settled_step_v};
  const CycleState start = state;
  if (change != 0) {
    solver_.predict(*instants_, change, state);
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

double Analysis::level(const CycleState& state, int output) const {
  double sum = 0;
  for (int k = 0; k < instants_->count; ++k)
    sum += instants_->harmonic[1][k] * state.x[form_.output_row[output]][k];
  return sum * form_.sign[output];
}

int Analysis::smaller_output(const CycleState& state) const {
  if (form_.outputs == 1) return 0;
  return level(state, 0) <= level(state, 1) ? 0 : 1;
}

bool Analysis::solve_level(double wanted_v, int& output, CycleState& state, int& steps) {
  for (int tries = 0; tries < form_.outputs; ++tries) {
    const DriveCondition condition{
        .output = form_.output_row[output], .sign = form_.sign[output], .value = wanted_v};
    if (!solve(condition, state, steps) || state.y[0] <= 0) return false;
    const int other = form_.outputs - 1 - output;
    if (form_.outputs == 1 || level(state, other) >= wanted_v * (1 - kEqualLevels)) {
      tangent_of_target_ = true;
      return true;
    }
    output = other;  // the other one is smaller at this level: ask for it instead
  }
  return false;  // each is the smaller one where the other has the level
}

bool Analysis::climb_to_level(double wanted_v, CycleState& state, int& steps, bool& saturated) {
  constexpr double kGrowth = 1.3, kMostRise = 60, kFirstShare = 0.5, kLeastShare = 1e-3, kLeastStart_v = 0.1;
  saturated = false;
  const double linear = wanted_v / least_gain();
  const auto reached = [&](const CycleState& s) { return level(s, smaller_output(s)) >= wanted_v; };
  // Where hardly any gain is left at rest the straight line leads far off; a drive of the grid's own bias
  // does something to any section.
  const double bias = std::abs(rest_bias_v_);
  double low = std::fmin(kFirstShare * linear, std::fmax(bias, kLeastStart_v)), high = low;
  CycleState below = linear_state(low);
  if (!solve_drive(low, 0, below, steps)) return false;
  while (reached(below)) {  // more gain than the straight line
    low *= kFirstShare;
    if (low < kLeastShare * linear || !solve_drive(low, 0, below, steps)) return false;
  }
  CycleState above = below;
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
      tangent_of_target_ = false;
      return true;
    }
    const double middle = 0.5 * (low + high);
    CycleState between = below;
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

Solved Analysis::find_target(CycleState& state, int& steps) {
  const double wanted = design_.swing_peak_v, gain = least_gain();
  if (!(gain > kLeastGain)) return Solved::no_signal;
  const double linear = wanted / gain;
  const auto signal = [&](int o) { return std::abs(signal_[form_.output_row[o]]); };
  int output = form_.outputs == 2 && signal(1) < signal(0) ? 1 : 0;
  state = linear_state(linear);
  // Far from the straight line there may be a second drive with the same level: take the slow road.
  constexpr double kFarFromLinear = 2;
  if (solve_level(wanted, output, state, steps) && state.y[0] <= kFarFromLinear * linear) return Solved::yes;
  bool saturated = false;
  if (climb_to_level(wanted, state, steps, saturated)) return Solved::yes;
  return saturated ? Solved::target_out_of_reach : Solved::no_convergence;
}

void Analysis::at_target(SteadyState& out, Waveforms& waves) {
  CycleState state;
  int steps = 0;
  const Solved end = find_target(state, steps);
  target_known_ = end == Solved::yes;
  if (target_known_) {
    target_ = state;
    solver_.describe(*instants_, state, waves);
    describe_steady_state(design_, waves, state.y[0], out);
  } else {
    out = SteadyState{};
  }
  out.newton_steps = steps;
  out.solved = end;
}

bool Analysis::follow(double input_peak_v, SteadyState& out, Waveforms& waves) {
  int steps = 0;
  if (!(followed_drive_ > 0)) followed_ = linear_state(input_peak_v);
  const bool solved =
      solve_drive(input_peak_v, followed_drive_ > 0 ? input_peak_v - followed_drive_ : 0, followed_, steps);
  followed_drive_ = solved ? input_peak_v : 0;
  if (solved) {
    solver_.describe(*instants_, followed_, waves);
    describe_steady_state(design_, waves, input_peak_v, out);
  } else {
    out = SteadyState{};
  }
  out.newton_steps = steps;
  out.solved = solved ? Solved::yes : Solved::no_convergence;
  return solved;
}

}  // namespace antiphase
