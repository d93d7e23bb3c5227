/// How the long-tailed pair is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::pair {

extern const Sizing kSizing;

/// The pair of `design`, also of one that has a stage ahead. See size_stage().
double size(const SizingInputs& inputs, Design& design);

}  // namespace antiphase::pair
