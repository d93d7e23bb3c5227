/// How a gain stage and the floating paraphase that it drives are sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::floating_paraphase_chain {

extern const Sizing kSizing;

}  // namespace antiphase::floating_paraphase_chain
