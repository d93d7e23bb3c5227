/// Substitutes of a tube on a terminal of 80 columns.
#pragma once

#include <string>

#include "results/describe/tube_substitutes.h"

namespace antiphase {

/// The pin-compatible ones with characteristics, heater and main ratings and what to look at before one is
/// plugged in; then the nearest of the others with what would have to change.
std::string substitutes_text(const Substitutes&);

}  // namespace antiphase
