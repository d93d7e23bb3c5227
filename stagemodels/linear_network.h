/// The stage linearised at rest, with every capacitor in: response, balance and ripple against frequency.
#pragma once

#include <complex>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Output voltages for one unit of excitation at one frequency.
struct LinearResponse {
  std::array<std::complex<double>, 2> output{};
  std::complex<double> input_siemens;  ///< current from the source per volt at grid 1; input excitation only
};

/// Nodal equations of a design at its rest point. Interelectrode capacitances come from the cards. Capacitors
/// that the design does not give (0) are shorts; the input capacitor always is. A directly coupled grid 2
/// hangs on grid 1 through its leak. Source: nodal analysis, e.g. Vlach & Singhal, Computer Methods for
/// Circuit Analysis and Design, chapter 2.
class LinearNetwork {
 public:
  /// Allowed: a design whose rest point is solved.
  LinearNetwork(const Design& design, const OperatingPoint& rest);

  /// One volt at the source, behind `source_ohm`. Cost: some microseconds.
  LinearResponse from_input(double frequency_hz) const;
  /// One volt on the supply, the source silent.
  LinearResponse from_supply(double frequency_hz) const;

 private:
  static constexpr int kNodes = 8;
  enum Node { grid_1, grid_2, plate_1, plate_2, cathode, leak, out_1, out_2, ground };
  struct Element {
    double siemens = 0, farad = 0;
  };

  void connect(int a, int b, double siemens, double farad = 0);
  void transconductance(int from, int to, int plus, int minus, double siemens);
  LinearResponse solve(double frequency_hz, const std::array<double, kNodes>& into) const;

  std::array<std::array<Element, kNodes>, kNodes> y_{};
  std::array<double, kNodes> supply_siemens_{};
  double source_siemens_ = 0;
  int outputs_ = 2;
};

/// Allowed: rest point and small signal solved. Cost: about a millisecond.
FrequencyFigures frequency_figures(const Design& design, const OperatingPoint& rest,
                                   const SmallSignal& small);

}  // namespace antiphase
