/// The design and its output stage together: what follows from the one for the other, and both in one loop.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Puts into the design what its output stage says: the valve whose grids are driven and its bias, the swing
/// that its watts take, and, where feedback is given, the output stage's gain, impedance and load. Allowed:
/// has_output_stage(d), valves with laws. Failure: no_rest_point, or target_out_of_reach where the pair never
/// has that power; `figures` then says how far it came. Cost: some milliseconds; allocates nothing.
Solved follow_output_stage(Design& d, PairFigures& figures);

/// Fills what the design makes of its output stage. Allowed: has_output_stage(d), `e` filled to
/// Depth::with_frequency.
///
/// `driven`: the outputs' own cycle at the target, behind the larger output impedance with the load, into the
/// pair's grids and their leaks.
///
/// `closed`: with the loop closed. Between its capacitors the front end has no memory, so that each output is
/// a function of the momentary drive, known by its harmonics (Chebyshev's polynomials) in a cycle a little
/// larger than needed. What comes back, T over the gain at rest times the load's voltage, is taken off the
/// drive at each of the pair's instants; the cycle that closes on itself is found by Newton's method with the
/// slopes of the last pass, and the source is raised until the load has its watts. Exact at mid-band for the
/// output stage and the splitter. In the first stage what comes back enters at the cathode and is here
/// counted at the grid: its own bend differs by that (stagemodels/README.md, Overall feedback). Cost: some 30
/// ms; allocates nothing.
void output_stage_figures(const Design& d, const Evaluation& e, OutputStageFigures& out);

}  // namespace antiphase
