/// Where a single section rests whose current runs through resistors in series.
#pragma once

#include "stagemodels/tubes/section.h"

namespace antiphase {

struct SingleSection {
  TriodeSection section;
  double supply_v = 0;
  double ohm = 0;       ///< all that the current runs through
  double grid_v = 0;    ///< of the grid against the foot of bias_ohm
  double bias_ohm = 0;  ///< between that foot and the cathode
};

/// Its current: what the section passes less what the resistors would falls all the way as the current grows.
/// Newton inside a bracket. @return < 0 if it cannot be found to `tolerated_a`. Cost: under 1 us.
double rest_current_a(const SingleSection&, double tolerated_a);

}  // namespace antiphase
