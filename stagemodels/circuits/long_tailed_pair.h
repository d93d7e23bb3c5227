/// Two triode sections with one cathode node: the equations of design forms and tails.
///
/// Unknowns at each instant: plate 1, plate 2, cathode (V to ground). For the whole cycle: drive
/// peak, the voltages of the two output capacitors, the mean voltages of the two grids.
/// Bias and tail are linear, so the cathode sees one conductance and one current source:
/// the leak node is eliminated by hand.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/solve/bordered_newton.h"

namespace antiphase {

class LongTailedPair {
 public:
  static constexpr int kLocal = 3, kBorder = 5, kOutputs = 2, kSections = 2;
  using State = CycleState<kLocal, kBorder>;
  enum { plate_1, plate_2, cathode };                        // x
  enum { drive, capacitor_1, capacitor_2, grid_1, grid_2 };  // y

  /// Which node voltages stand in the equation of each cycle unknown.
  static constexpr bool kTies[kBorder][kLocal] = {
      {false, false, false}, {true, false, false}, {false, true, false}, {false, false, true}, {false, false, true}};

  /// Keeps a reference to the design. Allowed: a design within its ranges.
  explicit LongTailedPair(const Design& design);

  /// Node voltages at rest, good enough for Newton. False if no current fits the tail.
  bool guess_rest(State& state) const;
  /// The same by nested bracketing: exact but slow.
  bool bracket_rest(State& state) const;

  void assemble(const Instants& instants, const State& state, CycleEquations<kLocal, kBorder>& eq) const;

  /// Voltages and currents of every node at every instant.
  void describe(const Instants& instants, const State& state, Waveforms& out) const;

  double load_siemens(int output) const { return load_[static_cast<std::size_t>(output)]; }
  /// Current into grid 1's terminal per volt there, given the cathode's signal per volt.
  double input_siemens(double cathode_gain) const;
  double leak_node_v(double cathode_v, double grids_sum_v) const;
  double grid_signal_leaks() const { return grids_to_tail_; }
  static double output_sign(int output) { return output == 0 ? -1 : 1; }
  const TriodeLaw& law(int section) const { return design_.tube[static_cast<std::size_t>(section)]->law(); }
  double plate_siemens(int section) const { return plate_[static_cast<std::size_t>(section)]; }

 private:
  double tail_current_a(double cathode_v) const;  ///< no current in the grid leaks
  double grid_rest_v(double cathode_v) const;
  double conducting_grid_v(int section, double cathode_v) const;  ///< less what its leak drops

  const Design& design_;
  std::array<double, 2> plate_{}, load_{};  // S
  double tail_siemens_ = 0, tail_source_a_ = 0, tail_foot_v_ = 0;
  double leak_siemens_ = 0;     // of one grid leak
  double cathode_siemens_ = 0;  // current into bias and tail per cathode volt
  double grids_to_tail_ = 0;    // minus the same per volt of either grid (leaks to the leak node)
  double cathode_source_a_ = 0;
  // leak node = leak_from_cathode * vk + leak_from_grids * (vg1 + vg2) + leak_offset
  double leak_from_cathode_ = 0, leak_from_grids_ = 0, leak_offset_v_ = 0;
};

}  // namespace antiphase
