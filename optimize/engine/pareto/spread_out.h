/// Thins a large front to a small one that still covers it.
#pragma once

#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// At most `most` of `front`: the best by better(), the extremes of each objective and the knee are kept
/// first (as far as they fit), then again and again the point that is farthest from all kept ones on the
/// common scale. Result best first by better(); does not depend on the order of `front`.
/// Source: Gonzalez, "Clustering to minimize the maximum intercluster distance", Theor. Comput. Sci. 38
/// (1985) 293-306: never more than twice the least possible largest gap.
/// Not: the crowding distance of NSGA-II (Deb et al. 2002), which looks at one objective at a time and
/// leaves clusters beside holes with three or more (Kukkonen & Deb, IEEE CEC 2006, 1179-1186).
/// Cost: #front x most distances.
std::vector<Point> spread_out(std::vector<Point> front, int objectives, int most);

}  // namespace antiphase::engine
