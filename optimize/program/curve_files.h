/// Files of curve readings.
#pragma once

#include <string>
#include <vector>

#include "optimize/studies/fit/fit_checks.h"

namespace antiphase {

/// Reads them all; errors of every file are told on standard error.
/// @return kDone, or the exit code of the worst error; then `readings` holds only those of good files.
int read_curve_files(const std::vector<std::string>& files, std::vector<PlacedPoint>& readings);

}  // namespace antiphase
