#include "stagemodels/circuits/rest_point.h"

#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/rest_circuit.h"

namespace antiphase {

TriodeSection section_of(const Design& d, const Element& triode) {
  return section_numbered(d, triode.section);
}

TriodeCurrents currents_of(const TriodeSection& section, const Element& e, const NodeVolts& v) {
  const auto to_cathode = [&](Node n) {
    return n == kNoNode ? 0.0 : v[static_cast<std::size_t>(n)] - v[static_cast<std::size_t>(e.c)];
  };
  return section.currents_at(to_cathode(e.b), to_cathode(e.a), to_cathode(e.screen));
}

bool solve_rest_point(const Circuit& c, const Design& d, std::span<const Alteration> altered,
                      NodeVolts& volts, const Meter* meter) {
  const Bridge bridge = meter ? Bridge{meter->node, kGround, meter->ohm} : Bridge{};
  return RestCircuit(c, d, altered, {&bridge, meter ? 1u : 0u}).solve(volts);
}

NodeVolts currents_out_of_nodes(const Circuit& c, const Design& d, std::span<const Alteration> altered,
                                const NodeVolts& volts) {
  return RestCircuit(c, d, altered).currents_out(volts);
}

}  // namespace antiphase
