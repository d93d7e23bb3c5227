/// A lattice point as level numbers, one per axis, and as values.
#pragma once

#include <span>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Level numbers, one per axis: 0 ... levels.size() - 1.
using Levels = std::vector<int>;

/// The level nearest to `value`: in ratio on a logarithmic axis, in distance on another; on a tie the lower
/// one. `axis` has levels.
int nearest_level(const Axis& axis, double value);

/// The nearest level on every axis. `x` holds #axes values.
Levels nearest_levels(const Problem& lattice, std::span<const double> x);

/// Writes the #axes values of a lattice point to `x`.
void values_of(const Problem& lattice, std::span<const int> levels, std::span<double> x);

/// The number of points; a double, because it may be beyond any integer. It is 0 without axes or levels.
double lattice_size(const Problem& lattice);

}  // namespace antiphase::engine
