/// Several designs with their figures, as a list.
#pragma once

#include <string>
#include <vector>

#include "results/describe/side_by_side.h"

namespace antiphase {

/// A list with an object a design: "file", "limits_broken" and "evaluation", which is what one design alone
/// gives.
std::string side_by_side_json(const std::vector<NamedRecord>& records);

}  // namespace antiphase
