// The bracketing that Newton falls back on finds the rest point by itself.
//
// It only serves where the quick guess fails, so no figure hangs on it as a rule: here it is held alone
// against Kirchhoff's laws, which the solved rest point keeps.
#include <doctest/doctest.h>

#include "stagemodels/circuits/common_cathode.h"
#include "stagemodels/circuits/gain_and_splitter.h"
#include "stagemodels/circuits/long_tailed_pair.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Pairs are bracketed to 1e-11 V, first stages to 1e-9 of their current, brackets inside brackets; Newton
/// ends finer.
constexpr double kAllowed_v = 1e-6;
/// A chain's supply behind a dropping resistor is bracketed to 1e-3 V, and its pair's grids follow the first
/// plate.
constexpr double kAllowedOfDroppedSupply_v = 2e-3;

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

template <class Circuit>
typename Circuit::State bracketed(const Design& d) {
  const Circuit circuit(d);
  typename Circuit::State state;
  REQUIRE(circuit.bracket_rest(state));
  return state;
}

void hold_pair(const Design& d) {
  using Circuit = LongTailedPair<Surroundings::real, kInstants>;
  const OperatingPoint rest = solved(d);
  const auto state = bracketed<Circuit>(d);
  for (std::size_t i = 0; i < 2; ++i) {
    CHECK(within(state.x[i][0], rest.plate_v[i], kAllowed_v));
    CHECK(within(state.y[Circuit::grid_1 + i], rest.grid_v[i], kAllowed_v));
  }
  CHECK(within(state.x[Circuit::cathode][0], rest.cathode_v, kAllowed_v));
  CHECK(within(state.y[Circuit::supply], rest.supply_v, kAllowed_v));
}

}  // namespace

TEST_CASE(
    "the bracketed rest point of a pair is the solved one, in every form and behind a dropping resistor") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const TailForm tail : {TailForm::resistor, TailForm::constant_current}) {
      CAPTURE(static_cast<int>(bias));
      CAPTURE(static_cast<int>(tail));
      const Design d = pair_of(tube, bias, tail);
      hold_pair(d);
      hold_pair(behind_resistor(d));
    }
}

TEST_CASE("the bracketed rest point of a pair whose grids conduct at rest is the solved one") {
  Tube tube = tube_with(kRsd2);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.tail.ohm = 15e3;  // so much current that the cathodes come down to the grids
  d.plate_ohm = {220e3, 240e3};
  const OperatingPoint rest = solved(d);
  MESSAGE("grid to cathode ", rest.grid_to_cathode_v[0], " V and ", rest.grid_to_cathode_v[1], " V");
  CHECK(rest.grid_to_cathode_v[1] > -0.3);
  hold_pair(d);
}

TEST_CASE("the bracketed rest point of a first stage, alone and ahead of a pair, is the solved one") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const bool drops : {false, true}) {
    CAPTURE(drops);
    Design d = pair_of(tube);
    d.circuit = CircuitKind::common_cathode;
    d.plate_ohm[0] = 100e3;
    d.cathode_ohm = 1500;
    if (drops) d = behind_resistor(d);
    using Alone = CommonCathode<Surroundings::real>;
    const OperatingPoint alone = solved(d);
    const auto state = bracketed<Alone>(d);
    CHECK(within(state.x[Alone::plate][0], alone.plate_v[0], kAllowed_v));
    CHECK(within(state.x[Alone::cathode][0], alone.cathode_v, kAllowed_v));
    CHECK(within(state.y[Alone::supply], alone.supply_v, kAllowed_v));

    for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled}) {
      CAPTURE(static_cast<int>(bias));
      Design chain = pair_of(tube, bias);
      chain.circuit = CircuitKind::gain_and_splitter;
      chain.first_stage.tube = &tube;
      chain.first_stage.plate_ohm = 220e3;
      chain.first_stage.cathode_ohm = 2200;
      if (drops) chain = behind_resistor(chain);
      using Chain = GainAndSplitter<Surroundings::real, kInstants>;
      const OperatingPoint rest = solved(chain);
      const auto both = bracketed<Chain>(chain);
      const double allowed_v = drops ? kAllowedOfDroppedSupply_v : kAllowed_v;
      CHECK(within(both.x[Chain::plate_1][0], rest.plate_v[0], allowed_v));
      CHECK(within(both.x[Chain::plate_2][0], rest.plate_v[1], allowed_v));
      CHECK(within(both.x[Chain::pair_cathode][0], rest.cathode_v, allowed_v));
      CHECK(within(both.y[Chain::supply], rest.supply_v, allowed_v));
    }
  }
}
