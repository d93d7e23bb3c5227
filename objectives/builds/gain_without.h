/// The stage at mid-band with one part taken out.
#pragma once

#include <optional>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Small-signal gains from the first grid to each output. Allowed: a solved rest point of this design, which
/// holds without the part too; a capacitor or resistor of its circuit that stands in it. Cost: some us.
Pair gain_without(const Design&, const OperatingPoint& rest, const Element& part);

}  // namespace antiphase
