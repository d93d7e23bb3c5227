/// The feedback resistor of a design that leaves it open.
#pragma once

#include "stagemodels/design.h"

namespace antiphase {

/// Where overall feedback is asked for without its resistor, the E24 value nearest to what it takes;
/// otherwise, and where the rest point has no solution, the design as it is.
Design with_standard_feedback(Design);

}  // namespace antiphase
