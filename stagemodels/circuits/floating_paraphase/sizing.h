/// How the floating paraphase is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::floating_paraphase {

extern const Sizing kSizing;

/// The splitter of `design`, also of one that has a stage ahead. See size_stage().
double size(const SizingInputs& inputs, Design& design);

}  // namespace antiphase::floating_paraphase
