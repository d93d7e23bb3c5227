/// Parts that are on hand, and resistors made of two.
#pragma once

#include <optional>
#include <vector>

#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/design.h"

namespace antiphase {

/// What is in the drawer. A kind with no line is not restricted.
struct Stock {
  struct Item {
    double value = 0;  ///< ohm or F
    int pieces = 0;    ///< >= 0
  };
  std::vector<Item> resistors, capacitors;  ///< ascending, values distinct
};

/// Where a design's parts come from, as far as it is a limit or decides what has to be bought.
struct PartSupply {
  std::optional<Stock> on_hand;
  std::vector<engine::TwoPart> plate_2;  ///< values of plate resistor 2 that are two parts, ascending
};

/// Pieces that a design needs beyond those on hand, one for each resistor and capacitor of its circuit that
/// is a part to buy. A given part whose value is not on the list at all is there already, and does not
/// count; `plate_2` is two pieces where it is made of two. 0 without a list. Allocates nothing.
double pieces_missing(const PartSupply&, const Design&);

/// The two parts that make this value of plate resistor 2; null: it is one.
const engine::TwoPart* made_of(const PartSupply&, double plate_2_ohm);

/// Values that one or two of `singles` (ascending) make in [low, high], ascending. All single values stand;
/// of the values of two those that are at least kClosest_pct from every other one, sums before parallel
/// values. The second of two is at most a quarter of the first (in parallel: its conductance), so that it
/// trims and does not carry the half.
std::vector<engine::TwoPart> one_or_two(const std::vector<double>& singles, double low, double high);
inline constexpr double kClosest_pct = 0.5;

}  // namespace antiphase
