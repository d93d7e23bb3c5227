/// Steady state of an output pair: all electrodes at every instant of the cycle, by Newton's method.
#pragma once

#include <span>

#include "stagemodels/output/output_pair.h"
#include "stagemodels/output/pair_figures.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {

/// What comes to each grid for one volt of drive, at each instant of PairSolver::instants(): a cosine, or a
/// driver's own cycle. Means count for nothing behind a coupling capacitor.
struct PairDrive {
  std::array<Row, 2> wave{};
};

/// The unknowns are plate, screen and grid voltage of both valves at each instant, and four that stand still
/// over the cycle: cathode, the transformer's magnetizing current (no direct voltage stands across a winding)
/// and the voltage behind each coupling capacitor (no direct current goes through it). Quasi-static: the
/// transformer is that of mid-band. Newton's matrix is block-diagonal with a border, as in
/// solve/bordered_newton.h; each instant's block is eliminated with pivoting. Allocates nothing. One object
/// for one thread.
class PairSolver {
 public:
  static constexpr int kCycleInstants = 64;
  static const Instants& instants();

  /// Allowed: both valves with a law, resistances >= 0, plate_to_plate_ohm and load_ohm > 0. `pair` is
  /// copied.
  explicit PairSolver(const OutputPair& pair);

  /// The rest point, found anew. Cost: some 5 us.
  Solved rest(PairRest& out);

  /// The drive that the next solves raise; amplitudes begin at nothing again. Called after rest().
  void drive_with(const PairDrive& drive);
  /// Another drive of much the same shape, without a new beginning.
  void change_drive(const PairDrive& drive);
  /// Cosines of `share[0]` and -`share[1]` for one volt: {1, 1} is a balanced drive.
  void drive_with_cosine(const Pair& share = {1, 1});

  /// Steady state at `amplitude` times the drive, followed from the last one solved. Cost: some 200 us.
  Solved at(double amplitude, PairState& out);

  /// The smallest amplitude with `watts` in the load. Failure: target_out_of_reach, with the last state
  /// followed.
  Solved at_power(double watts, PairState& out);
  /// Where a crest of a grid reaches its onset of current, followed from nothing.
  Solved where_grids_conduct(PairState& out);
  /// Where the least plate current over the cycle is `share` of that at rest.
  Solved where_cut_off(double share, PairState& out);

  const OutputPair& pair() const { return pair_; }
  /// Voltage at the load at each instant of the last state; its mean is nothing.
  const Row& load_v() const { return load_v_; }

 private:
  static constexpr int kLocal = 6, kStill = 4;
  enum Place { plate, screen, grid };  // of a valve's three unknowns
  using Block = double[kLocal][kLocal + 1 + kStill];

  struct Unknowns {
    std::array<std::array<double, kLocal>, kCycleInstants> x{};
    std::array<double, kStill> y{};  // cathode, magnetizing current, behind coupling capacitors 1 and 2
  };
  struct Valve {
    OutputCurrents c;
    double grid_a = 0, grid_per_v = 0;
  };

  Valve valve_at(const double* x, double cathode_v, int j) const;
  void equations(const Unknowns& u, int k, double amplitude, Block& m, double* g,
                 double (*g_x)[kLocal]) const;
  double pass(const Unknowns& u, double amplitude, const Instants& at, bool make_step);
  Solved newton(double amplitude, const Instants& at);
  Solved solve_from_here(double amplitude);
  void start_rest();
  double linear_gain(double load_ohm) const;
  void describe(double amplitude, PairState& out) const;
  template <class Value>
  Solved follow(double wanted, double first, double most, Value value, PairState& out);

  OutputPair pair_;
  double ratio_ = 1, reflected_ohm_ = 0, half_ohm_ = 0, tap_ = 0;
  Unknowns rest_, now_, tried_;
  Unknowns step_;
  std::array<std::array<std::array<double, kStill>, kLocal>, kCycleInstants> by_still_{};
  PairDrive drive_;
  double amplitude_ = 0;
  int steps_ = 0;
  Pair rest_plate_a_{};
  mutable Row load_v_{};
};

/// All figures at once, for a balanced cosine. `watts`: what the load is to have; empty: not asked.
PairFigures pair_figures(const OutputPair& pair, std::optional<double> watts);

}  // namespace antiphase
