// The door to the solvers: it always answers.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("a tail that asks for more than the sections can pass is told apart") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::self_biased, TailForm::constant_current);
  d.tail.current_a = 0.5;
  d.tail.output_ohm = 1e12;
  Evaluation e;
  evaluate(d, Depth::full, e);
  CHECK(e.operating_point.solved == Solved::no_rest_point);
  CHECK_FALSE(reason(e.operating_point.solved).empty());
}

TEST_CASE("a target above what the plates can swing is out of reach") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.swing_peak_v = 400;
  Evaluation e;
  evaluate(d, Depth::full, e);
  CHECK(e.at_target.solved == Solved::target_out_of_reach);
  CHECK(e.clean.solved == Solved::yes);  // how far it does go is still told
  CHECK(e.clean.swing_peak_v > 10);
  CHECK(e.clean.headroom_db < 0);
}

TEST_CASE("every member of a design stands once in the table of fields") {
  for (const DesignField& field : design_fields()) {
    CHECK(find_design_field(field.pointer) == &field);
    CHECK(field.low <= field.high);
    CHECK_FALSE(field.label.empty());
    for (const DesignField& other : design_fields())
      if (&other != &field) CHECK(other.pointer != field.pointer);
  }
  CHECK(find_design_field("/tail/ohms") == nullptr);
}

TEST_CASE("the table of circuits is in the order of its kinds") {
  for (const CircuitEntry& entry : circuits()) {
    CHECK(&circuit(entry.kind) == &entry);
    CHECK(circuit_named(name_of(entry.kind)) == entry.kind);
  }
}

TEST_CASE("what belongs to a form that is not chosen has no meaning") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const TailForm tail : {TailForm::resistor, TailForm::constant_current}) {
      Design d = pair_of(tube, bias, tail);
      Evaluation plain, cluttered;
      evaluate(d, Depth::full, plain);
      REQUIRE(plain.operating_point.solved == Solved::yes);
      if (bias != BiasForm::self_biased) d.bias.ohm = 1234;
      if (bias != BiasForm::direct_coupled) d.bias.grid_v = 56;
      if (bias != BiasForm::negative_rail) d.bias.rail_v = -78;
      if (tail == TailForm::resistor) d.tail.current_a = 9e-3;
      if (tail == TailForm::constant_current) d.tail.ohm = 12e3;
      evaluate(d, Depth::full, cluttered);
      CAPTURE(name_of(bias));
      CAPTURE(name_of(tail));
      const OperatingPoint &a = plain.operating_point, &b = cluttered.operating_point;
      CHECK(a.plate_v == b.plate_v);
      CHECK(a.plate_current_a == b.plate_current_a);
      CHECK(a.cathode_v == b.cathode_v);
      CHECK(a.tail_v == b.tail_v);
      CHECK(a.tail_fraction == b.tail_fraction);
      CHECK(plain.at_target.thd_pct == cluttered.at_target.thd_pct);
      CHECK(plain.at_target.balance_pct == cluttered.at_target.balance_pct);
      CHECK(plain.clean.swing_peak_v == cluttered.clean.swing_peak_v);
    }
}
