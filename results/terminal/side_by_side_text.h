/// Several designs side by side, for a terminal of 80 columns.
#pragma once

#include <string>
#include <vector>

#include "results/describe/side_by_side.h"

namespace antiphase {

/// Designs that do not fit beside each other stand in tables one below the other.
std::string side_by_side_text(const std::vector<NamedRecord>& records);

}  // namespace antiphase
