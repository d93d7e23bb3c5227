/// What a person has to know before trusting or building a design, beside its limits.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// One sentence each: ratings that are not published but matter here, and figures that rest on something left
/// out. Empty for most designs.
std::vector<std::string> cautions(const Record&);

}  // namespace antiphase
