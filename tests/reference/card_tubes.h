/// Every tube that the random designs may use: published parameter sets and the project's own cards.
#pragma once

#include <span>

#include "stagemodels/tubes/tube.h"

namespace antiphase::reference {

/// The published sets of published_tubes.h and the first law of each card in configs/tubes. Lives as long as
/// the program. Throws std::runtime_error if the cards cannot be read.
std::span<const Tube> all_tubes();

}  // namespace antiphase::reference
