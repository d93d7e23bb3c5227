/// What a design asks of its tube, collected from the rest point and the steady state.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Per section where an array. Members at rest mean something if the rest point is solved, the others if
/// the target is reached.
struct Stress {
  Pair plate_dissipation_rest_w{}, plate_dissipation_mean_w{};
  Pair cathode_current_mean_a{}, cathode_current_peak_a{};
  Pair plate_to_cathode_rest_v{}, plate_to_cathode_peak_v{};
  double plate_cold_start_v = 0;        ///< plate to cathode before the tube conducts: the supply
  double cathode_to_heater_rest_v = 0;  ///< > 0: cathode positive
  double cathode_to_heater_peak_v = 0;  ///< of the cycle, the instant farthest from zero
};

Stress stress_of(const Design&, const Evaluation&);

}  // namespace antiphase
