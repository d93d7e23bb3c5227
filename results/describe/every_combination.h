/// What a search through every combination covered and proved, in sentences.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// Empty where the run was none. `met`: some design keeps every limit.
std::vector<std::string> every_combination_in_words(const RunRecord& run, bool met);

/// What it would take to know that the first is the best. Empty where that was done, or begun.
std::string not_proved_in_words(const RunRecord& run);

}  // namespace antiphase
