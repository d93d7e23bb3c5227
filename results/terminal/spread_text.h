/// How builds of a design scatter, and its measuring sheet, for a terminal of 80 columns.
#pragma once

#include <string>

#include "results/describe/spread.h"

namespace antiphase {

std::string spread_text(const SpreadReport&);
/// The sheet alone, safety first: fits one printed page.
std::string measuring_sheet_text(const SpreadReport&);

}  // namespace antiphase
