/// The figures of a design as the independent library gives them: each from its definition
/// (stagemodels/README.md), with nothing taken from the project's solver but the shape of the answers.
#pragma once

#include <functional>
#include <vector>

#include "stagemodels/evaluation.h"
#include "tests/reference/held_stage.h"
#include "tests/reference/netlist.h"

namespace antiphase::reference {

struct Rest {
  OperatingPoint
      point;  ///< voltages, currents, tail, dissipation; with gm_s, mu, rp_ohm by differences of the law
  std::vector<double> capacitor_v;  ///< across each capacitor of the netlist, in its order
  double kirchhoff_a = 0;           ///< largest current sum left over at any node
};

struct Cycle {
  SteadyState state;
  double kirchhoff_a = 0;           ///< the same, over all instants
  std::vector<double> capacitor_v;  ///< as held in the end
  double mean_left_a = 0;           ///< largest mean current left in a capacitor
  int sweeps = 0;
};

/// How a design's netlist is drawn, so that tests can put other sections in.
using Draw = std::function<StageNetlist(Coupling)>;
Draw drawing_of(const Design& design, bool output_grids = false);

/// All three throw CircuitError when the library finds no solution.
/// rest_point: "op" with capacitors open.
Rest rest_point(const Design& design, const Draw& draw);
/// small_signal: "ac" about that point with capacitors shorted; gains per volt at grid 1; output impedances
/// with the load taken away, grid 1 still and test currents into the outputs.
SmallSignal small_signal(const Design& design, const Draw& draw);
/// steady_state: one cycle at the drive, its capacitors held at the voltages at which
/// their mean currents vanish. Starts from the voltages given (at rest, or of a cycle near by).
/// Instants: phases k pi / steps, k = 0 ... steps.
Cycle steady_state(const Design& design, const Draw& draw, const std::vector<double>& capacitor_v,
                   double input_peak_v, int steps);
/// The same of a stage that is loaded already (many drives, nothing read twice).
Cycle steady_state(const Design& design, HeldStage& stage, double input_peak_v, int steps, bool output_grids);

}  // namespace antiphase::reference
