/// What curve readings give away about themselves: lost signs, wrong units, slips of a line.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stagemodels/tubes/fit_data.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// A reading and where it stands.
struct PlacedPoint {
  CurvePoint point;
  std::string file;
  int line = 0;  ///< from 1
};

/// Why these readings cannot be of a triode as they stand, in words with files; empty: nothing speaks against
/// them. `card`: what is known of the type, or null.
std::string contradictions(std::span<const PlacedPoint>, const Tube* card);

/// What is odd and used all the same: readings beyond the ratings, currents that fall as the plate rises.
std::string oddities(std::span<const PlacedPoint>, const Tube* card);

struct Strays {
  std::vector<std::size_t> which;  ///< ascending
  std::string words;               ///< a line for each, with its place
};

/// Readings many times off the fitted law: another unit, a slip. None if they are more than a tenth of all:
/// then it is the law that is off. `modelled`: #readings, what the law gives. `typical_a`: A.
Strays strays(std::span<const PlacedPoint>, std::span<const std::optional<double>> modelled,
              double typical_a);

}  // namespace antiphase
