/// From the points of a search to a list of designs that a person wants to choose from.
#pragma once

#include <cstddef>
#include <vector>

#include "objectives/design_problem.h"

namespace antiphase {

/// Indices into `best` (sorted, best first): at most `count`, in order, each of them another design and
/// not just one E-series step away from a better one. Two designs are distinct if tube or forms differ, if
/// the supply differs by a twentieth, or if one part differs by a fifth; if that gives too few, the bar is
/// lowered by halves down to any difference at all.
std::vector<std::size_t> distinct(const DesignProblem& problem, const std::vector<engine::Point>& best,
                                  std::size_t count);

}  // namespace antiphase
