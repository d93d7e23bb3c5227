/// The stage past its target, with every grid that conducts: its own, and the output valves' if they are
/// named.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// With output valves named, both the stage that drives them and the one that it is compared with are solved
/// at twice the usual instants: a crest that is cut off needs them. Allowed: rest point, small signal and
/// target of `known` solved. Cost: about a hundred solves.
void overdrive(const Design& design, const Evaluation& known, OverdriveFigures& out);

}  // namespace antiphase
