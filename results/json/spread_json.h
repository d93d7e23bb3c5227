/// How builds of a design scatter, for programs.
#pragma once

#include <string>

#include "results/describe/spread.h"

namespace antiphase {

/// Members: builds, seed, brief, varied [{name, label, half_width_pct, scatter}], yield {…}, figures
/// [{name, unit, nominal, low, median, high, least, most, mean, deviation, builds, index {…}}],
/// limits_broken, tightened, corners, selected, measuring_sheet {safety, rest, levels, faults}. The same
/// bytes for any number of threads.
std::string spread_json(const SpreadReport&);

}  // namespace antiphase
