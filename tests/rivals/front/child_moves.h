/// The moves that make one child at a time.
#pragma once

#include "tests/rivals/front/cube_places.h"
#include "tests/rivals/front/population.h"

namespace antiphase::engine::rivals::front {

/// The first six make one child; the last three are descents of many judgements (line_descent.h).
enum Move {
  difference,  ///< a difference of two members added
  crossover,   ///< simulated binary crossover
  step,        ///< one or two axes by a step
  borrow,      ///< one axis from another member, or onto a wall
  repeat,      ///< the step that made a member, once more
  inward,      ///< from a point outside the limits towards members
  descent,     ///< all objectives down
  slope,       ///< a weighted sum down
  scan,        ///< places all along each axis
  moves
};

/// A child of `from`, not yet snapped: it may lie outside the cube. `parent` indexes the members; `move` is
/// below `descent`; for `inward` there must be points outside the limits.
std::vector<double> child(Move move, std::size_t parent, const std::vector<double>& from,
                          const Population& population, Places& places, RandomNumbers& random);

}  // namespace antiphase::engine::rivals::front
