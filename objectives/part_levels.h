/// Which values each part of a design can take: the axes of the lattice of real parts.
#pragma once

#include <vector>

#include "objectives/design_space.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

struct PartAxis {
  const DesignField* field = nullptr;
  std::vector<double> levels;  ///< ascending; one: fixed; none: nothing to be had in the range
  bool logarithmic = true;
};

/// The axes for the forms and tube of `base`. Ranges of bias and tail parts are taken from sizing the
/// stage over a grid of the space. Empty if no point of that grid fits the supply.
std::vector<PartAxis> part_axes(const DesignSpace& space, const Design& base);

}  // namespace antiphase
