/// The resistors and sources around the two sections of a long-tailed pair, and where it rests.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Numbers of the pair's equations that its two kinds of surroundings share.
class PairNetwork {
 public:
  explicit PairNetwork(const Design& design, bool output_grids);

  static double output_sign(int output) { return output == 0 ? -1 : 1; }
  const TriodeSection& section(int i) const { return section_[static_cast<std::size_t>(i)]; }
  double load_siemens(int output) const { return load_[static_cast<std::size_t>(output)]; }
  double plate_siemens(int section) const { return plate_[static_cast<std::size_t>(section)]; }
  /// Current into grid 1's terminal per volt there, given the cathode's signal per volt; the leak's only.
  double input_siemens(double cathode_gain) const;
  double leak_node_v(double cathode_v, double grids_sum_v) const;

 protected:
  struct RestGuess {
    double supply_v, cathode_v, grid_v;
    std::array<double, 2> plate_v;
  };
  /// One section's line with the mean plate resistor. False if no current fits the tail.
  bool guess_rest(RestGuess& at) const;
  /// By nested bracketing: exact but slow.
  bool bracket_rest(RestGuess& at, std::array<double, 2>& grid_v) const;
  double tail_current_a(double cathode_v) const;  ///< no current in the grid leaks
  double grid_rest_v(double cathode_v) const;
  double grid_rest_slope() const;                                 ///< of grid_rest_v
  double conducting_grid_v(int section, double cathode_v) const;  ///< less what its leak drops
  bool grid_1_held() const { return design_.bias.form == BiasForm::direct_coupled; }
  /// Everything but the node voltages that `state` has directly.
  void describe_instant(int k, double grid_1_v, double grid_2_v, double supply_v, const Pair& capacitor_v,
                        Waveforms& out) const;

  const Design& design_;
  std::array<TriodeSection, 2> section_;
  std::array<double, 2> plate_{}, load_{};  // S
  double tail_siemens_ = 0, tail_source_a_ = 0, tail_foot_v_ = 0;
  double leak_siemens_ = 0;     // of one grid leak
  double cathode_siemens_ = 0;  // current into bias and tail per cathode volt
  double grids_to_tail_ = 0;    // minus the same per volt of either grid (leaks to the leak node)
  double cathode_source_a_ = 0;
  // leak node = leak_from_cathode * vk + leak_from_grids * (vg1 + vg2) + leak_offset
  double leak_from_cathode_ = 0, leak_from_grids_ = 0, leak_offset_v_ = 0;
  double drop_1_ohm_ = 0, drop_2_ohm_ = 0;  // what the mean grid currents run through; 0 for a held grid
  double source_siemens_ = 0;
  double main_siemens_ = 0;  // of the dropping resistor; 0: stiff supply
  GridDiode output_grid_;    // draws nothing unless asked for
  double output_bias_v_ = 0;
};

}  // namespace antiphase
