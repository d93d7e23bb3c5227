/// How the split-load splitter is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::split_load {

extern const Sizing kSizing;

/// The splitter of `design`, also of one that has a stage ahead. See size_stage().
double size(const SizingInputs& inputs, Design& design);

}  // namespace antiphase::split_load
