/// What a builder needs beside the parts of the solved circuit: grid stoppers, the leaks of what follows,
/// supplies, heaters.
#pragma once

#include <vector>

#include "results/describe/parts_list.h"

namespace antiphase {

/// Common practice, no published source: against oscillation at radio frequencies, right at the socket.
inline constexpr double kGridStopper_ohm = 1e3, kOutputGridStopper_ohm = 2.2e3;

/// Lines with in_circuit false; the leaks (is_load) the solved circuit has as its load. Designators: RL1, RL2
/// for the leaks of what follows, one an output; RS1, RS2 … for grid stoppers, first those of the design's
/// sections in the order of the circuit's list, then those of the output valves, where one is named; PS1 …
/// for supplies of plates, rails and grids with what flows out of them at rest (is_drawn), where the rest
/// point is solved; H1 … for heater supplies, one for each voltage. A note says what is common practice and
/// not solved. A leak stands the whole supply until the coupling capacitor is charged, and is rated for what
/// a shorted one leaves across it. The heater's note has the elevation above ground that the design names,
/// and the range in which every cathode stays within the ratings of its card at `factors.heater_cathode`.
std::vector<PartLine> parts_beside(const Design&, const Evaluation&, const DesignFactors&);

/// Everything to order for a design: parts_list, then parts_beside.
std::vector<PartLine> order_list(const Record&, const DesignFactors&, const Tolerances& = {});

}  // namespace antiphase
