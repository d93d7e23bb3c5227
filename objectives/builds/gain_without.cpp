#include "objectives/builds/gain_without.h"

#include "objectives/builds/build_model.h"

// The linear network has a list of nodes of its own, of the same name as the circuits'.
#define Node LinearNode
#include "stagemodels/linear/network.h"
#undef Node

namespace antiphase {
namespace {

constexpr double kShown_hz = 1e3;  // any: at mid-band nothing hangs on it

Capacitor in_network(const Circuit& c, const Element& e) {
  switch (e.role) {
    case Role::grid_bypass:
      return Capacitor::grid_bypass;
    case Role::input_coupling:
      return Capacitor::input_coupling;
    case Role::coupling_between:
      return Capacitor::between_stages;
    case Role::cathode_bypass:
      return c.section(kFirstStage) ? Capacitor::first_cathode_bypass : Capacitor::cathode_bypass;
    case Role::reservoir:
      return Capacitor::reservoir;
    default:
      return e.b == c.output[0].node ? Capacitor::coupling_1 : Capacitor::coupling_2;
  }
}

}  // namespace

Pair gain_without(const Design& d, const OperatingPoint& rest, const Element& capacitor) {
  // from the grid, not from behind the source's resistance
  Design at_grid = d;
  at_grid.source_ohm = 0;
  const LinearResponse r =
      LinearNetwork::with_open(at_grid, rest, in_network(circuit_of(d), capacitor)).from_input(kShown_hz);
  return Pair{r.output[0].real(), r.output[1].real()};
}

}  // namespace antiphase
