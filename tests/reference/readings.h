/// What the library found, read from its vectors and brought into the shape of the solver's answers.
#pragma once

#include <optional>
#include <vector>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase::reference {

using Curve = std::vector<double>;

/// Node voltages and ammeter currents of the last analysis: one value per swept instant, one for "op".
class Readings {
 public:
  explicit Readings(const Design& design, bool output_grids = false);

  int sections() const { return split_load_ ? 1 : outputs(); }  ///< of the stage that drives the outputs
  int outputs() const { return pair_ || split_load_ ? 2 : 1; }
  std::size_t instants() const { return supply_a.size(); }
  Curve zero() const { return Curve(instants(), 0.0); }

  Curve supply_a, supply_v, cathode_v, leak_node_v;
  std::vector<Curve> plate_v, grid_v, output_v, plate_a, grid_a;
  struct First {
    Curve plate_v, grid_v, cathode_v, plate_a, grid_a;
  };
  std::optional<First> first;        ///< of a chain
  std::vector<First> driver;         ///< both sections of a driver, or none
  std::vector<Curve> output_grid_a;  ///< into the output valves' grids; zero if none are drawn

 private:
  bool split_load_, pair_;
};

/// Average over the cycle of a curve at phases k pi / N, k = 0 ... N: the trapezoidal rule.
double mean(const Curve& y);

/// The largest sum of currents left at the plate, cathode and leak nodes, from the node voltages,
/// the design's resistances and the ammeters.
double kirchhoff(const Design& d, const Readings& r);

/// Of "op"; gm_s, mu and rp_ohm by differences of the laws' published equations.
OperatingPoint operating_point(const Design& d, const Readings& r);

/// Of a swept half cycle.
SteadyState cycle_figures(const Design& d, const Readings& r, double input_peak_v);

}  // namespace antiphase::reference
