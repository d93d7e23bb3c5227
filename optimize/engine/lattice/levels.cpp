#include "optimize/engine/lattice/levels.h"

#include <algorithm>
#include <cassert>

namespace antiphase::engine {

int nearest_level(const Axis& axis, double value) {
  assert(!axis.levels.empty());
  const auto above = std::lower_bound(axis.levels.begin(), axis.levels.end(), value);
  if (above == axis.levels.begin()) return 0;
  const int index = static_cast<int>(above - axis.levels.begin());
  if (above == axis.levels.end()) return index - 1;
  const double low = above[-1], high = *above;
  const bool lower = axis.logarithmic ? value / low <= high / value : value - low <= high - value;
  return lower ? index - 1 : index;
}

Levels nearest_levels(const Problem& lattice, std::span<const double> x) {
  assert(x.size() == lattice.axes.size());
  Levels levels(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) levels[i] = nearest_level(lattice.axes[i], x[i]);
  return levels;
}

void values_of(const Problem& lattice, std::span<const int> levels, std::span<double> x) {
  assert(levels.size() == lattice.axes.size() && x.size() == levels.size());
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = lattice.axes[i].levels[levels[i]];
}

double lattice_size(const Problem& lattice) {
  if (lattice.axes.empty()) return 0;
  double size = 1;
  for (const Axis& axis : lattice.axes) size *= static_cast<double>(axis.levels.size());
  return size;
}

}  // namespace antiphase::engine
