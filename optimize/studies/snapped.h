/// The preferred values near a resistance.
#pragma once

#include <string>
#include <vector>

#include "optimize/engine/snapping/preferred_values.h"

namespace antiphase {

struct Snapped {
  double wanted_ohm = 0;
  engine::Series series = engine::Series::e24;
  double nearest_ohm = 0, below_ohm = 0, above_ohm = 0;  ///< all the same if wanted is a value of the series
  std::vector<engine::TwoPart> pairs;                    ///< that come closer, nearest first
};

/// `wanted_ohm` > 0; at most so many pairs.
Snapped snap(double wanted_ohm, engine::Series series, int pairs);

std::string snapped_text(const Snapped&);
std::string snapped_json(const Snapped&);

}  // namespace antiphase
