/// Starts for the rest point: node voltages that are good enough for Newton's method. A rough one will do;
/// where Newton's method does not settle from it the general solver of the list is asked (rest_point.h).
#pragma once

#include "stagemodels/circuits/rest_point.h"

namespace antiphase {

/// Fills the nodes of sections and supplies; the others follow from them. False if no current fits.
using RestGuess = bool (*)(const Circuit&, const Design&, NodeVolts&);

/// Adds the nodes of the design's driver: each section alone on the supply that stands in `v`. False if no current
/// fits. Cost: under 2 us.
bool guess_driver(const Circuit&, const Design&, NodeVolts& v);

/// Where a splitter rests about that hangs on `from_v` through `dropping_ohm` (0: none); `grid_v`: of a
/// driven grid at a given voltage. Fills the supply and the nodes of its sections; false if no current fits.
using SplitterRest = bool (*)(const Circuit&, const Design&, double from_v, double dropping_ohm,
                              double grid_v, NodeVolts&);

/// Of a splitter that stands alone.
template <SplitterRest kRest>
bool guess_alone(const Circuit& c, const Design& d, NodeVolts& v) {
  return kRest(c, d, cold_supply_v(d), d.main_supply_v > 0 ? d.dropping_ohm : 0, d.bias.grid_v, v);
}

}  // namespace antiphase
