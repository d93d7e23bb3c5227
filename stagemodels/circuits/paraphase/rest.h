/// A start for the rest point of a paraphase, with or without self-balance.
#pragma once

#include "stagemodels/circuits/rest_point.h"

namespace antiphase::paraphase {

/// Both sections as one on the mean of their plate resistors: fills the supply and the nodes of the sections.
/// `from_v`: what the stage hangs on, through `dropping_ohm` (0: none). Grids rest at ground; the fifth
/// argument, of grids at a given voltage, has no meaning here. False if that current is not found. Cost:
/// under 1 us.
bool start_rest(const Circuit&, const Design&, double from_v, double dropping_ohm, double, NodeVolts&);

}  // namespace antiphase::paraphase
