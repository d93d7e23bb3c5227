/// Tubes ranked for a brief, as JSON.
#pragma once

#include <string>

#include "results/describe/tube_ranking.h"

namespace antiphase {

/// {title, brief_file, effort, seed, evaluations, complete, tubes: [{rank or null, tube, in_brief, met,
/// score, score_low, score_high, rank_in_doubt, figures {name: value}, stands_in_the_way, what_helps, design
/// or null}]}. SI units. score_low and score_high are null where a credible law misses the target.
std::string tube_ranking_json(const TubeRanking&);

}  // namespace antiphase
