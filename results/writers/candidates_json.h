/// candidates.json: the machine-readable answer of a search.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// {"title", "brief", "candidates": [{rank, score, feasible, remark, figures, design, evaluation}],
/// "pareto": [{score, remark, figures, design}], "blocked_by", "run"}. SI units. `run.times` is the last
/// member and the only one that differs between two runs of the same brief and seed.
std::string candidates_json(const Report&);

}  // namespace antiphase
