/// How the split-load splitter is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::split_load {

extern const Sizing kSizing;

}  // namespace antiphase::split_load
