/// How a gain stage ahead of a splitter is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::first_stage {

/// The splitter's grid sets the first plate, so its resistor sets the current.
inline bool coupled_directly(const Design& d) {
  return d.bias.form == BiasForm::direct_coupled;
}

/// The splitter by its own rule, the first stage to suit it, and the supply for both. See size_stage().
double size(const SizingInputs& inputs, double (*splitter)(const SizingInputs&, Design&), Design& design);

}  // namespace antiphase::first_stage
