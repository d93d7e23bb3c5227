/// Questions to a ledger: its best points, and a uniform sample of the feasible ones.
#pragma once

#include <cstdint>
#include <vector>

#include "optimize/engine/lattice/ledger.h"
#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Gives a judged entry of a ledger as a point.
Point point_of(const Problem& lattice, const Ledger& ledger, int entry, int family);

/// Gives at most `most` points of a ledger, the best ones, best first by better().
std::vector<Point> best_of(const Problem& lattice, const Ledger& ledger, int family, int most);

/// A feasible point's key in a fixed order of chance: the points with the lowest numbers are a uniform sample
/// of all distinct points, whatever the order in which they were met. (Bottom-k sketch: Cohen & Kaplan,
/// PODC 2007, 225-234.)
struct SampleKey {
  std::uint64_t number = 0;
  int family = 0, entry = 0;
};

/// Gives the keys of the feasible entries, in rising order; at most the `most` lowest.
std::vector<SampleKey> uniform_sample(const Ledger& ledger, int family, int most);

}  // namespace antiphase::engine
