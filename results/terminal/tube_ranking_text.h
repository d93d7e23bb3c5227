/// Tubes ranked for a brief, on a terminal of 80 columns.
#pragma once

#include <string>

#include "results/describe/tube_ranking.h"

namespace antiphase {

/// Met tubes with score, its band from law to law and the figures of the brief; what the design of each is;
/// then the others with what stands in their way. Allowed: a ranking that rank_trials() has put in order.
std::string tube_ranking_text(const TubeRanking&);

}  // namespace antiphase
