/// A design turned into a record: solved, and held against what is asked.
#pragma once

#include "results/report.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

/// figures() of an evaluation, in their order; empty where the design has no such figure.
std::vector<std::optional<double>> all_figures(const Design& design, const Evaluation& evaluation);

/// One design as it is, solved to `depth` and as far as the demands need; with Depth::everything all that can
/// be said about it. `rank` and `remark` are the caller's.
Record make_record(const Design& design, const Demands& demands, Depth depth = Depth::everything);

/// A design of a problem's space, with the parts that are chosen for it and all demands of the problem
/// (objectives/judgement.h).
Record make_record(const DesignProblem& problem, const Design& design, Depth depth = Depth::everything);

}  // namespace antiphase
