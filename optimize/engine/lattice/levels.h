/// A lattice point as level numbers, one per axis, and as values.
#pragma once

#include <span>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Level numbers, one per axis: 0 ... levels.size() - 1.
using Levels = std::vector<int>;

/// Level nearest to `value` (in ratio on a logarithmic axis); on a tie the lower. Axis has levels.
int nearest_level(const Axis& axis, double value);

/// Nearest level on every axis. x: #axes values.
Levels nearest_levels(const Problem& lattice, std::span<const double> x);

/// Values of a lattice point; x: #axes, written.
void values_of(const Problem& lattice, std::span<const int> levels, std::span<double> x);

/// Number of points, as a double because it may be beyond any integer; 0 with no axes or no levels.
double lattice_size(const Problem& lattice);

}  // namespace antiphase::engine
