/// How the common-cathode stage is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::gain_stage {

extern const Sizing kSizing;

}  // namespace antiphase::gain_stage
