/// How a gain stage and the long-tailed pair that it drives are sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::chain {

extern const Sizing kSizing;

}  // namespace antiphase::chain
