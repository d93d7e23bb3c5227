/// A stage whose capacitors are ideal voltage sources, corrected between sweeps until no mean current flows
/// through any of them: the mid-band steady state by its definition (stagemodels/README.md).
#pragma once

#include <array>
#include <string>
#include <vector>

#include "tests/reference/netlist.h"

namespace antiphase::reference {

/// What is swept and how its points are averaged over the cycle (or both cycles).
struct Sweep {
  std::string command;
  std::vector<double> weights;  ///< of the mean; sum 1
};
/// Phases k pi / steps, k = 0 ... steps, of a half cycle: the trapezoidal rule.
Sweep half_cycle(int steps);
/// The same for two tones, each phase of the first with each of the second (first fastest).
Sweep two_half_cycles(int steps);

/// The library holds one circuit: nothing else may be loaded between construction and last use.
class HeldStage {
 public:
  /// capacitor_v: where to start, in the order of the drawing's capacitors.
  HeldStage(const StageNetlist& netlist, std::vector<double> capacitor_v);

  /// One tone. Leaves the sweep's vectors in the library. Where the capacitor voltages do not settle from
  /// those of the drive before, drives between are gone through first. Throws CircuitError if that does not
  /// help either.
  void settle(double input_peak_v, int steps);
  /// Two tones of these peaks.
  void settle_two_tones(double first_peak_v, double second_peak_v, int steps);

  const std::vector<double>& capacitor_v() const { return held_; }
  double mean_left_a() const { return mean_left_a_; }  ///< largest mean current left in a capacitor
  int sweeps() const { return sweeps_; }

 private:
  bool settled_at(const std::array<double, 2>& peaks, int steps, const Sweep& sweep);
  void go(const std::array<double, 2>& peaks, int steps, const Sweep& sweep, int depth);
  void set(const std::array<double, 2>& peaks, int steps);
  bool mean_currents(const Sweep& sweep, const std::vector<double>& volts, std::vector<double>& means);
  bool probe_slopes(const Sweep& sweep);

  std::vector<Capacitor> capacitors_;
  std::vector<double> held_;
  std::vector<double> means_, slopes_;  ///< slopes_: row by row, d mean / d held; empty: not known
  std::array<double, 2> last_{};        ///< peaks of the newest state that settled
  double mean_left_a_ = 0;
  int sweeps_ = 0;
};

}  // namespace antiphase::reference
