/// How a gain stage and the paraphase that it drives are sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::paraphase_chain {

extern const Sizing kSizing;

}  // namespace antiphase::paraphase_chain
