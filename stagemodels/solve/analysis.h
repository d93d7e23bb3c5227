/// From a circuit's equations to its figures: rest, small signal, steady state at a drive or at a level,
/// clean swing, two tones, levels. The same for every circuit, whose equations are behind CycleSolver.
#pragma once

#include <cmath>

#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/cycle_solver.h"
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

class Analysis {
 public:
  /// Keeps a reference to the design. `output_grids`: the grids of the output valves that the design names
  /// are part of the load. Allowed: a design within its ranges; output_grids only in real surroundings.
  Analysis(const Design& design, Surroundings around, int instants = kInstants, bool output_grids = false);
  Analysis(const Analysis&) = delete;  // its solver lives in its room
  Analysis& operator=(const Analysis&) = delete;

  /// Operating point and its linearisation. Everything else needs it to have been solved.
  void rest(OperatingPoint& out);
  void small_signal(SmallSignal& out);

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
  /// Below this gain the stage is no amplifier and its target is not looked for.
  static constexpr double kLeastGain = 0.01;
  /// Levels of two outputs, or two drives, that differ by rounding and the last Newton step only.
  static constexpr double kEqualLevels = 1e-12;
  /// Settled for margins of a volt with six digits: a step leaves an error of its square (per volt).
  static constexpr double kNearlySettled_v = 3e-4;

  /// First guess at a drive: rest plus the small signal.
  CycleState linear_state(double input_peak_v) const;
  bool solve(const DriveCondition& condition, CycleState& state, int& steps) {
    tangent_of_target_ = false;
    return solver_.solve(*instants_, condition, state, steps) == NewtonEnd::settled;
  }
  /// Steady state at `drive`, from a neighbouring state that was the last to be settled, with its condition's
  /// value `change` below (0: it was not the last). Tries the tangent, then the state as it is, then walks up
  /// from nothing in ever smaller steps.
  bool solve_drive(double drive, double change, CycleState& state, int& steps,
                   double settled_step_v = kSettledStep_v);
  /// Fundamental of an output as the drive condition counts it (positive in normal working).
  double level(const CycleState& state, int output) const;
  int smaller_output(const CycleState& state) const;
  /// Solves for the level; on success `output` is the smaller one.
  bool solve_level(double wanted_v, int& output, CycleState& state, int& steps);
  /// Raises the drive in small steps until the level is passed, then closes in.
  bool climb_to_level(double wanted_v, CycleState& state, int& steps, bool& saturated);
  /// Smallest drive for the target with the instants in force.
  Solved find_target(CycleState& state, int& steps);

  /// What the margins of a clean swing are counted from.
  struct RestOfSection {
    double onset_v, grid_to_cathode_v, plate_current_a;  ///< onset: of grid conduction
  };
  RestOfSection rest_of(const OperatingPoint& at, int section) const;
  struct CleanProbe;
  void set_margins(const OperatingPoint& at, const CycleExtremes& now, bool grids_may_conduct,
                   CleanProbe& out) const;
  CleanProbe probe(const OperatingPoint& at, const CycleState& state, bool grids_may_conduct) const;
  /// Moves along the last tangent, then solves for the drive at which the grid that has least left there
  /// reaches its onset.
  bool solve_grid_onset(const OperatingPoint& at, double change, CycleState& state, int& steps);
  /// Least gain from the source to the outputs, each in the sense that its circuit gives it: what turns a
  /// level into a first guess at the drive. Below 0 where a loop inside the stage has a gain above one and
  /// turns the solution upside down, which no real circuit stays in.
  double least_gain() const {
    const auto gain = [&](int o) { return form_.sign[o] * signal_[form_.output_row[o]]; };
    return form_.outputs == 2 ? std::fmin(gain(0), gain(1)) : gain(0);
  }

  const Design& design_;
  SolverRoom room_;
  CycleSolver& solver_;
  const CycleSolver::Form& form_;
  const Instants* instants_;  // of one tone; of two while they are solved
  CycleState rest_;
  std::array<double, CycleState::kMostNodes> signal_{};  // node voltages per volt of the source, mid-band
  SectionCurrents at_rest_{};
  double rest_bias_v_ = 0;  // of the driven grid against its cathode
  CycleState target_;
  bool target_known_ = false;
  bool tangent_of_target_ = false;  // the solver has solved nothing else since
  CycleState followed_;
  double followed_drive_ = 0;  // 0: nothing to follow
};

}  // namespace antiphase
