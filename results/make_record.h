/// A design turned into a record: solved, and held against what is asked.
#pragma once

#include "results/report.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

/// figures() of an evaluation, in their order; empty where the design has no such figure.
std::vector<std::optional<double>> all_figures(const Design& design, const Evaluation& evaluation);

/// One design with everything that can be said about it. `rank` and `remark` are the caller's.
Record make_record(const Design& design, const Demands& demands, Depth depth = Depth::everything);

}  // namespace antiphase
