/// How candidates that are ranked by their builds compare, nominal and robust side by side.
#pragma once

#include <string>
#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// "Ranked by yield: …", what was sampled, and what the nominally best design comes to; empty where builds
/// have no say.
std::vector<std::string> builds_ranking_in_words(const Report&);

/// Rank by builds, rank by nominal score, yield with its confidence, and both scores, of every candidate and
/// of the nominally best design.
ValueTable builds_ranking_table(const Report&);

/// Of each candidate whose builds were looked at: the figures of the score, nominal and 5 to 95 %, and the
/// yield.
ValueTable candidate_bands_table(const Report&);

}  // namespace antiphase
