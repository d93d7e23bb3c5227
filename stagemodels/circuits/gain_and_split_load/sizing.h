/// How a gain stage and the split load that it drives are sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::split_load_chain {

extern const Sizing kSizing;

}  // namespace antiphase::split_load_chain
