// Voltages from near by, small changes, resistances between nodes and bridges, against closed formulas and
// the plain rest point.
#include "stagemodels/circuits/rest_circuit.h"

#include <doctest/doctest.h>

#include "tests/support/random_stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

int place_of(const Circuit& c, std::string_view name) {
  for (int k = 0; k < c.elements; ++k)
    if (c.element[static_cast<std::size_t>(k)].name == name) return k;
  FAIL("no element " << name);
  return -1;
}

double at(const NodeVolts& v, Node n) {
  return v[static_cast<std::size_t>(n)];
}

}  // namespace

TEST_CASE("from near voltages the rest point is found that is found from nothing") {
  RandomStages stages(21);
  for (int k = 0; k < 50; ++k) {
    const Design d = stages.draw();
    const Circuit& c = circuit_of(d);
    const RestCircuit circuit(c, d, {});
    NodeVolts v, near;
    REQUIRE(circuit.solve(v));
    near = v;
    for (Node n = 1; n < c.nodes; ++n) near[static_cast<std::size_t>(n)] += n % 2 ? 1.5 : -1.5;
    REQUIRE(circuit.settle(near, 1e-9));
    for (std::size_t n = 0; n < v.size(); ++n) CHECK(within(near[n], v[n], 1e-6));
  }
}

TEST_CASE("the slopes at a rest point tell what a small change of a part does") {
  // The other way: both solved whole. A part a millionth larger moves nodes by what the missing amperes do.
  RandomStages stages(22);
  constexpr double kStep = 1e-6;
  for (int k = 0; k < 30; ++k) {
    const Design d = stages.draw();
    Design next = d;
    next.plate_ohm[0] *= 1 + kStep;
    const Circuit& c = circuit_of(d);
    const RestCircuit here(c, d, {}), there(c, next, {});
    NodeVolts v, w;
    REQUIRE(here.solve(v));
    REQUIRE(there.solve(w));
    const RestCircuit::Slopes slopes = here.slopes_at(v);
    REQUIRE(slopes.known());
    NodeVolts in = there.currents_out(v);
    const NodeVolts left = here.currents_out(v);
    for (std::size_t n = 0; n < in.size(); ++n) in[n] = left[n] - in[n];
    const NodeVolts rise = slopes.rise(in);
    // second order of a millionth of some hundred volts, and what both rest points are settled to
    for (std::size_t n = 0; n < v.size(); ++n) CHECK(within(rise[n], w[n] - v[n], 1e-8));
  }
}

TEST_CASE("resistance between nodes is Thevenin's, and a bridge divides as Ohm's law says") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  const Circuit& c = circuit_of(d);
  const std::array none_conducts{Alteration{place_of(c, "section_1"), Alteration::What::dead, 1},
                                 Alteration{place_of(c, "section_2"), Alteration::What::dead, 1}};
  const RestCircuit circuit(c, d, none_conducts);
  NodeVolts v;
  REQUIRE(circuit.solve(v));
  const RestCircuit::Slopes slopes = circuit.slopes_at(v);
  const Node p1 = c.section(0)->a, p2 = c.section(1)->a, k = c.section(0)->c;
  CHECK(within_ratio(slopes.ohm_between(p1, kGround), d.plate_ohm[0], 1e-9));
  CHECK(within_ratio(slopes.ohm_between(p1, p2), d.plate_ohm[0] + d.plate_ohm[1], 1e-9));
  CHECK(within_ratio(slopes.ohm_between(k, kGround), d.bias.ohm + d.tail.ohm, 1e-9));

  // From plate 1 to a heater at 30 V through 50 kilohms: a divider from the supply to 30 V.
  const Bridge bridge{p1, kGround, 50e3, 30};
  const RestCircuit bridged(c, d, none_conducts, {&bridge, 1});
  REQUIRE(bridged.solve(v));
  CHECK(within_ratio(at(v, p1), 30 + (320 - 30) * 50e3 / (50e3 + d.plate_ohm[0]), 1e-9));
  CHECK(within(at(v, p2), 320, 1e-9));
}
