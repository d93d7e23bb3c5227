/// What a brief gives, judged before any search: ratings that no choice of parts can keep.
#pragma once

#include <vector>

#include "objectives/limits/limit.h"

namespace antiphase {

class DesignProblem;

/// The limits of the table that every design of the problem breaks by the same value, with nothing solved: at
/// the low ends of all axes, and with each axis at its high end. Such a limit hangs on what is given alone.
/// Each once, of its first section. Cost: a comparison for each limit, section, family and axis.
std::vector<LimitResult> broken_by_givens(const DesignProblem&);

}  // namespace antiphase
