/// What is read off the lists of elements, against the drawings and tables of stagemodels/README.md.
#include "stagemodels/circuits/questions.h"

#include <doctest/doctest.h>

#include "stagemodels/members.h"

using namespace antiphase;

namespace {

Design of(CircuitKind kind, BiasForm bias = BiasForm::self_biased, TailForm tail = TailForm::resistor) {
  Design d;
  d.circuit = kind;
  d.bias.form = bias;
  d.tail.form = tail;
  return d;
}

constexpr auto kPair = CircuitKind::long_tailed_pair, kStage = CircuitKind::common_cathode,
               kChain = CircuitKind::gain_and_splitter;

}  // namespace

TEST_CASE("plate resistors, leaks and roles are those of the drawings") {
  CHECK(plate_resistors(kPair) == 2);
  CHECK(plate_resistors(kStage) == 1);
  CHECK(plate_resistors(kChain) == 2);
  CHECK(leaks_off_ground(kPair));
  CHECK_FALSE(leaks_off_ground(kStage));
  CHECK(has_role(kPair, Role::tail));
  CHECK_FALSE(has_role(kStage, Role::tail));
  CHECK(has_role(kChain, Role::feedback));
  CHECK_FALSE(has_role(kPair, Role::feedback));
  CHECK(has_role(of(kPair, BiasForm::negative_rail), Role::rail));
  CHECK_FALSE(has_role(of(kPair), Role::rail));
  CHECK(has_role(of(kChain), Role::coupling_between));
  CHECK_FALSE(has_role(of(kChain, BiasForm::direct_coupled), Role::coupling_between));
}

TEST_CASE("a member that hangs on a form or on a value is not one of every design") {
  CHECK(has_member(kPair, member::bias_grid_v));
  CHECK_FALSE(has_member(kChain, member::bias_grid_v));
  CHECK_FALSE(always_has_member(kPair, member::bias_grid_v));
  CHECK(has_member(kPair, member::supply_v));
  CHECK_FALSE(always_has_member(kPair, member::supply_v));  // or a main supply
  CHECK(always_has_member(kPair, member::load_ohm));
  CHECK(always_has_member(kStage, member::cathode_ohm));
  CHECK_FALSE(has_member(kPair, member::cathode_ohm));
  CHECK(has_member(kStage, member::cathode_bypass_f));
  CHECK_FALSE(always_has_member(kStage, member::cathode_bypass_f));  // unless no part is bypassed
  CHECK(always_has_member(kPair, member::swing_peak_v));
}

TEST_CASE("a partly bypassed resistor is found with its whole, feedback's place with it") {
  CHECK(partly_bypassed(circuit_of(of(kPair)))[0].part == nullptr);
  const auto stage = partly_bypassed(circuit_of(of(kStage)));
  CHECK(stage[0].part == &member::cathode_unbypassed_ohm);
  CHECK(stage[0].whole == &member::cathode_ohm);
  CHECK(stage[1].part == nullptr);
  for (const bool feedback : {false, true}) {  // with feedback the two parts change places
    CAPTURE(feedback);
    Design chain = of(kChain);
    chain.feedback.given = feedback;
    const auto first = partly_bypassed(circuit_of(chain));
    CHECK(first[0].part == &member::first_stage_cathode_unbypassed_ohm);
    CHECK(first[0].whole == &member::first_stage_cathode_ohm);
    CHECK(first[1].part == nullptr);
    CHECK(feedback_comes_in_at(circuit_of(chain)) ==
          (feedback ? &member::first_stage_cathode_unbypassed_ohm : nullptr));
  }
}

TEST_CASE("every form is gone through once without and once with feedback") {
  int pair = 0, stage = 0;
  for_each_form(kPair, [&](const Design&, const Circuit&) { ++pair; });
  for_each_form(kStage, [&](const Design&, const Circuit&) { ++stage; });
  CHECK(pair == 3 * 2 * 2 * 3);  // bias forms, tail forms, drivers and none
  CHECK(stage == 2);
}
