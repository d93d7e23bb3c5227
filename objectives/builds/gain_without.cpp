#include "objectives/builds/gain_without.h"

#include "stagemodels/linear/network.h"

namespace antiphase {

Pair gain_without(const Design& d, const OperatingPoint& rest, const Element& part) {
  constexpr double kShown_hz = 1e3;  // any: at mid-band nothing hangs on it
  Design at_grid = d;
  at_grid.source_ohm = 0;  // from the grid, not from behind the source's resistance
  const LinearResponse r = LinearNetwork::with_open(at_grid, rest, part).from_input(kShown_hz);
  return Pair{r.output[0].real(), r.output[1].real()};
}

}  // namespace antiphase
