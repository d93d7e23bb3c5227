/// A stage with every capacitor as given: response, ripple and noise by "ac" and "noise" analyses.
#pragma once

#include "tests/reference/analyses.h"

namespace antiphase::reference {

/// Fills what the solver's FrequencyFigures has, each from its definition in stagemodels/evaluation.h; of the
/// curve only every kCurveStep-th point. rest: of the same design, by rest_point. Throws CircuitError.
FrequencyFigures frequency_figures(const Design& design, const Rest& rest);

inline constexpr int kCurveStep = 10;

}  // namespace antiphase::reference
