/// The bend of a front: where giving up a little of one objective stops buying much of the others.
#pragma once

#include <cstddef>
#include <span>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Index of the point that lies farthest on the good side of the hyperplane through the front's extreme
/// points (one per objective), on the common scale of scale_of(). points: feasible, not empty.
/// If the extremes span no plane with a positive normal (fewer points than objectives, or one point
/// extreme twice), the plane "sum of scaled objectives = 1" stands in.
/// Source: Das, "On characterizing the 'knee' of the Pareto curve based on Normal-Boundary
/// Intersection", Struct. Optim. 18 (1999) 107-115; Branke et al., PPSN VIII (2004) 722-731.
std::size_t knee(std::span<const Point> points, int objectives);

}  // namespace antiphase::engine
