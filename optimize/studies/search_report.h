/// What a search found, turned into the report that the writers read.
#pragma once

#include "configs/brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/search.h"
#include "optimize/studies/robust_search.h"
#include "results/make_record.h"
#include "results/report.h"

namespace antiphase {

/// Candidates, front, cloud and what blocks a brief that cannot be met. `run` is the caller's, but for the
/// families' counts. robust: candidates in that order, if there is one (may be null).
Report make_report(const Brief& brief, const DesignProblem& problem, const engine::SearchOutcome& found,
                   const RobustOutcome* robust = nullptr);

}  // namespace antiphase
