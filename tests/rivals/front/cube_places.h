/// The unit cube as a front method walks it: continuous axes and axes of levels, and the least steps on both.
#pragma once

#include <vector>

#include "optimize/engine/problem.h"
#include "optimize/engine/random_numbers.h"
#include "optimize/engine/unit_cube.h"

namespace antiphase::engine::rivals::front {

class Places {
 public:
  /// Both must outlive it.
  Places(const Problem& problem, RandomNumbers& random);

  const UnitCube& cube() const { return cube_; }
  int size() const { return cube_.size(); }               ///< axes that can move
  int levels(std::size_t k) const { return levels_[k]; }  ///< of a moving axis; 0: continuous

  /// Clamps u into the cube and puts it on the middle of a level where an axis has levels; a step off
  /// `from` if nothing moved.
  void snap(std::vector<double>& u, const std::vector<double>& from);

  /// One axis by a step of random length, at least a level.
  void nudge(std::vector<double>& u);

 private:
  double centre(std::size_t k, int level) const { return (level + 0.5) / levels_[k]; }

  UnitCube cube_;
  std::vector<int> levels_;
  RandomNumbers& dice_;
};

}  // namespace antiphase::engine::rivals::front
