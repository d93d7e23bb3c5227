/// Bests side by side: of each tube, and of this search beside that of other results.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// A sentence for each of report.best_of_tubes: score, figures, parts.
std::vector<std::string> tubes_in_words(const Report&);

/// The two bests with their figures, and what the difference is made of. Empty without report.against.
std::vector<std::string> against_in_words(const Report&);

}  // namespace antiphase
