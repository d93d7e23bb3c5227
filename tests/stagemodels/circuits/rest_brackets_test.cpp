// The general rest solver that Newton falls back on finds the rest point by itself.
//
// It only serves where the quick guess fails, so no figure hangs on it as a rule: here it is held alone
// against Kirchhoff's laws, which the solved rest point keeps.
#include <doctest/doctest.h>

#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kAllowed_v = 1e-6;  // both end by Newton steps far below it

OperatingPoint solved(const Design& d) {
  Evaluation e;
  evaluate(d, Depth::rest, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  return e.operating_point;
}

Design behind_resistor(Design d) {
  d.main_supply_v = 400;
  d.dropping_ohm = 22e3;
  d.supply_v = 0;
  return d;
}

void hold(const Design& d) {
  const OperatingPoint rest = solved(d);
  const Circuit& c = circuit_of(d);
  NodeVolts v{};
  REQUIRE(solve_rest_point(c, d, {}, v));
  CHECK(within(v[c.supply], rest.supply_v, kAllowed_v));
  for (int i = 0; i < sections(d.circuit); ++i) {
    const Element& section = *c.section(i);
    CHECK(within(v[section.a], rest.plate_v[i], kAllowed_v));
    CHECK(within(v[section.b], rest.grid_v[i], kAllowed_v));
    CHECK(within(v[section.c], rest.cathode_v, kAllowed_v));
  }
  if (!has_first_stage(d)) return;
  const Element& first = *c.section(2);
  CHECK(within(v[first.a], rest.first.plate_v, kAllowed_v));
  CHECK(within(v[first.b], rest.first.grid_v, kAllowed_v));
  CHECK(within(v[first.c], rest.first.cathode_v, kAllowed_v));
}

}  // namespace

TEST_CASE(
    "the general solver's rest point of a pair is the solved one, in every form and behind a dropping "
    "resistor") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const TailForm tail : {TailForm::resistor, TailForm::constant_current}) {
      CAPTURE(static_cast<int>(bias));
      CAPTURE(static_cast<int>(tail));
      const Design d = pair_of(tube, bias, tail);
      hold(d);
      hold(behind_resistor(d));
    }
}

TEST_CASE("the general solver's rest point of a pair whose grids conduct at rest is the solved one") {
  Tube tube = tube_with(kRsd2);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.tail.ohm = 15e3;  // so much current that the cathodes come down to the grids
  d.plate_ohm = {220e3, 240e3};
  const OperatingPoint rest = solved(d);
  MESSAGE("grid to cathode ", rest.grid_to_cathode_v[0], " V and ", rest.grid_to_cathode_v[1], " V");
  CHECK(rest.grid_to_cathode_v[1] > -0.3);
  hold(d);
}

TEST_CASE("the general solver's rest point of a first stage, alone and ahead of a pair, is the solved one") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const bool drops : {false, true}) {
    CAPTURE(drops);
    Design d = pair_of(tube);
    d.circuit = CircuitKind::common_cathode;
    d.plate_ohm[0] = 100e3;
    d.cathode_ohm = 1500;
    if (drops) d = behind_resistor(d);
    hold(d);

    for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled}) {
      CAPTURE(static_cast<int>(bias));
      Design chain = pair_of(tube, bias);
      chain.circuit = CircuitKind::gain_and_splitter;
      chain.first_stage.tube = &tube;
      chain.first_stage.plate_ohm = 220e3;
      chain.first_stage.cathode_ohm = 2200;
      if (drops) chain = behind_resistor(chain);
      hold(chain);
    }
  }
}
