/// One triode section with its plate resistor and a cathode resistor, bypassed wholly, partly or not.
///
/// Unknowns at each instant: plate, cathode. For the whole cycle: drive peak, the voltages of the
/// output capacitor and of the cathode bypass, the mean voltage of the grid.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/solve/bordered_newton.h"

namespace antiphase {

class CommonCathode {
 public:
  static constexpr int kLocal = 2, kBorder = 4, kOutputs = 1, kSections = 1;
  using State = CycleState<kLocal, kBorder>;
  enum { plate, cathode };                      // x
  enum { drive, capacitor_1, bypass, grid_1 };  // y

  /// Which node voltages stand in the equation of each cycle unknown.
  static constexpr bool kTies[kBorder][kLocal] = {{false, false}, {true, false}, {true, true}, {false, true}};

  explicit CommonCathode(const Design& design);

  bool guess_rest(State& state) const;
  bool bracket_rest(State& state) const { return guess_rest(state); }  // already a bracketing
  void assemble(const Instants& instants, const State& state, CycleEquations<kLocal, kBorder>& eq) const;
  void describe(const Instants& instants, const State& state, Waveforms& out) const;

  double load_siemens(int) const { return load_; }
  double input_siemens(double) const { return 1 / design_.grid_leak_ohm; }
  double leak_node_v(double, double) const { return 0; }
  static double output_sign(int) { return -1; }
  const TriodeLaw& law(int) const { return design_.tube[0]->law(); }
  double plate_siemens(int) const { return plate_; }

 private:
  const Design& design_;
  double plate_ = 0, load_ = 0;             // S
  double bare_ohm_ = 0, bypassed_ohm_ = 0;  // next to the cathode without, then with a capacitor across
};

}  // namespace antiphase
