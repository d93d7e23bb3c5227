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

/// Values of a resistor in [low, high], ascending: those on hand, or of the part's own series, or of the
/// series of all. Allocates.
std::vector<double> resistors_to_be_had(const DesignSpace& space, const DesignField& resistor, double low,
                                        double high);

/// Values that plate resistor 2 can have where it may be made of two; empty where it may not. One part has
/// second == 0.
std::vector<engine::TwoPart> plate_2_parts(const DesignSpace& space);

/// The axes for the circuit, forms and tube of `base`: the members that its Sizing fills in these forms, in
/// that order. A part that no sizing input gives as it is (bias, tail, cathode resistor) gets its range from
/// sizing the stage over a grid of the space. Empty if no point of that grid fits the supply.
std::vector<PartAxis> part_axes(const DesignSpace& space, const Design& base);

}  // namespace antiphase
