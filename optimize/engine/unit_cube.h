/// The box of a problem seen as the unit cube: methods step in [0, 1] with log axes straightened.
#pragma once

#include <span>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Axes with low == high take no part. An axis with levels is cut into equal pieces, one per level, so
/// that a continuous method can be let loose on a lattice too.
class UnitCube {
 public:
  explicit UnitCube(const Problem& problem);

  int size() const { return static_cast<int>(free_.size()); }  ///< axes that can move

  /// u: size() numbers, taken as 0 ... 1 (clamped). x: one per axis of the problem, inside its range.
  void to_x(std::span<const double> u, std::span<double> x) const;
  std::vector<double> to_x(std::span<const double> u) const;

  /// The inverse of to_x. An x outside the box is clamped.
  std::vector<double> to_unit(std::span<const double> x) const;

 private:
  const Problem* problem_;
  std::vector<int> free_;
};

}  // namespace antiphase::engine
