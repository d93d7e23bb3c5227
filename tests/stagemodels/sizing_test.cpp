// Sizing is the inverse of solving.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/sizing.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Calls `use` with a design of every circuit in every form that it has, behind a main supply and without.
template <class Use>
void in_every_form(const Tube& tube, Use&& use) {
  static const Tube pentode = pentode_with(kSmallPentode);
  for (const CircuitEntry& entry : circuits())
    for (int bias = 0; bias < std::max<int>(1, static_cast<int>(entry.bias_forms.size())); ++bias)
      for (int tail = 0; tail < std::max<int>(1, static_cast<int>(entry.tail_forms.size())); ++tail)
        for (const GainForm gain : gain_forms(entry.kind))
          for (const double main_supply_v : {0.0, 360.0}) {
            Design d;
            d.circuit = entry.kind;
            d.tube = {&tube, &tube};
            d.first_stage.tube = d.first_stage.second_tube = &tube;
            d.first_stage.form = gain;
            if (gain == GainForm::pentode) d.first_stage.tube = &pentode;
            d.main_supply_v = main_supply_v;
            d.load_ohm = 220e3;
            d.swing_peak_v = 10;
            if (!entry.bias_forms.empty()) d.bias.form = entry.bias_forms[static_cast<std::size_t>(bias)];
            if (!entry.tail_forms.empty()) d.tail.form = entry.tail_forms[static_cast<std::size_t>(tail)];
            CAPTURE(entry.name);
            CAPTURE(name_of(d.bias.form));
            CAPTURE(name_of(d.tail.form));
            CAPTURE(name_of(gain));
            CAPTURE(main_supply_v);
            use(d);
          }
}

/// A pair of 0.7 mA each, behind a stage of 0.5 mA in 330 k where there is one; directly coupled that stage
/// passes what its plate resistor drops down to the grids, which a 12AX7 can with a negative grid.
constexpr SizingInputs kForTriodes{300, 0.25, 0.7e-3, 100e3, 1, 330e3, 0.5e-3};
/// A mu-follower's plate resistor stands below the node that holds the splitter's grid. What a direct cascode
/// passes must get through a lower section that has but a third of the voltage there.
SizingInputs modest(const Design& d) {
  SizingInputs w = kForTriodes;
  if (d.first_stage.form == GainForm::mu_follower) w.first_plate_ohm = 47e3;
  if (d.first_stage.form == GainForm::cascode && d.bias.form == BiasForm::direct_coupled)
    w.first_plate_ohm = 2e6;
  return w;
}

}  // namespace

TEST_CASE("sizing fills those members that the circuit lists, and no other that means something in it") {
  const Tube tube = tube_with(kKoren12AX7);
  int filled = 0;
  in_every_form(tube, [&](const Design& empty) {
    Design d = empty;
    REQUIRE(size_stage(modest(empty), d) == 0);
    const auto list = sizing_of(d.circuit).fills;
    for (const DesignField& field : design_fields()) {
      if (!field.applies(empty)) continue;
      CAPTURE(field.pointer);
      if (std::find(list.begin(), list.end(), &field) == list.end()) {
        CHECK(field.value(d) == field.value(empty));
        // what a design file must have and what does not stand around the stage would be left open
        CHECK_FALSE((field.required && field.role == FieldRole::resistor));
      } else {
        CHECK(field.value(d) >= field.low);
        CHECK(field.value(d) <= field.high);
        CHECK(field.value(d) != field.value(empty));
        ++filled;
      }
    }
    // nothing is filled in that no form of the circuit has
    for (const DesignField* field : list) {
      bool somewhere = false;
      in_every_form(tube, [&](const Design& other) {
        somewhere |= other.circuit == d.circuit && field->applies(other);
      });
      CAPTURE(field->pointer);
      CHECK(somewhere);
    }
  });
  CHECK(filled > 100);
}

TEST_CASE("every wish of a circuit has a say in how it is sized, and no other has") {
  const Tube tube = tube_with(kKoren12AX7);
  constexpr std::array kMembers{&SizingInputs::supply_v,
                                &SizingInputs::tail_fraction,
                                &SizingInputs::plate_current_a,
                                &SizingInputs::plate_ohm,
                                &SizingInputs::plate_ohm_ratio,
                                &SizingInputs::first_plate_ohm,
                                &SizingInputs::first_plate_current_a};
  in_every_form(tube, [&](const Design& empty) {
    Design as_asked = empty;
    REQUIRE(size_stage(modest(empty), as_asked) == 0);
    for (std::size_t n = 0; n < kMembers.size(); ++n) {
      SizingInputs other = modest(empty);
      other.*kMembers[n] *= 1.02;
      Design d = empty;
      REQUIRE(size_stage(other, d) == 0);
      bool moved = false;
      for (const DesignField& field : design_fields()) moved |= field.value(d) != field.value(as_asked);
      const CircuitSizingInput* own = sizing_of(d.circuit).find(static_cast<SizingInput>(n));
      CAPTURE(n);
      CHECK(moved == (own && !(own->follows && own->follows(empty))));
    }
  });
}

TEST_CASE("a circuit that is sized passes the wished currents when it is solved") {
  const Tube tube = tube_with(kKoren12AX7);
  in_every_form(tube, [&](const Design& empty) {
    Design d = empty;
    REQUIRE(size_stage(modest(empty), d) == 0);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    // Exact but for the root's tolerance of 1e-9 V on the grid, and, where a grid near its cathode passes
    // some microamperes, for that current in its leak.
    CHECK(within_ratio(e.operating_point.plate_current_a[0], kForTriodes.plate_current_a, 1e-5));
    CHECK(within_ratio(e.operating_point.supply_v, kForTriodes.supply_v, 1e-5));
    const CircuitSizingInput* first = sizing_of(d.circuit).find(SizingInput::first_plate_current_a);
    if (first && !(first->follows && first->follows(d)))
      CHECK(within_ratio(e.operating_point.first.plate_current_a, kForTriodes.first_plate_current_a, 1e-5));
  });
}

TEST_CASE("a stage sized for current and share of the tail has them when it is solved") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7)};
  RandomNumbers random{std::mt19937_64(5)};
  int sized = 0;
  for (int n = 0; n < 200; ++n) {
    Design d = pair_of(tubes[random.below(3)], static_cast<BiasForm>(random.below(3)),
                       static_cast<TailForm>(random.below(2)));
    d.bias.rail_v = 0;  // to be chosen
    const double ohm = random.log_between(22e3, 150e3), supply = random.between(250, 400);
    const SizingInputs inputs{supply, random.between(0.1, 0.3), random.between(0.2, 0.5) * supply / ohm, ohm,
                              1};
    if (size_stage(inputs, d) > 0) continue;
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    // a bias resistor cannot be below one ohm, nor a grid of a directly coupled pair above its cathode
    if (d.bias.ohm <= 1 || e.operating_point.grid_to_cathode_v[0] > -0.01) continue;
    CAPTURE(name_of(d.bias.form));
    CAPTURE(name_of(d.tail.form));
    CAPTURE(d.bias.rail_v);
    CAPTURE(d.tail.current_a);
    ++sized;
    // equal sections: exact but for the root's tolerance of 1e-9 V on the grid
    CHECK(within_ratio(e.operating_point.plate_current_a[0], inputs.plate_current_a, 1e-5));
    CHECK(within(e.operating_point.tail_fraction, inputs.tail_fraction, 1e-5));
  }
  CHECK(sized > 120);
}

TEST_CASE("a plate that would stand below the cathodes is told with what it is short of") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  // 300 V less 2 mA in 100 kilohm is 100 V, the tail takes 105 V of it, and a plate needs 20 V.
  CHECK(within(size_stage({300, 0.35, 2e-3, 100e3, 1}, d), 25, 1e-9));
}

TEST_CASE("what stands under a pair is no part of a first stage") {
  const Tube tube = tube_with(kKoren12AX7);
  for (const TailForm tail : {TailForm::resistor, TailForm::constant_current}) {
    Design d = pair_of(tube, BiasForm::self_biased, tail);
    CHECK(find_design_field("/tail/ohm")->applies(d) == (tail == TailForm::resistor));
    CHECK(find_design_field("/tail/current_a")->applies(d) == (tail == TailForm::constant_current));
    d.circuit = CircuitKind::common_cathode;
    for (const char* field : {"/tail/ohm", "/tail/current_a", "/bias/ohm"})
      CHECK_FALSE(find_design_field(field)->applies(d));
  }
}

TEST_CASE("a rail that is given is kept") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::negative_rail);
  d.bias.rail_v = -75;
  CHECK(size_stage({300, 0.2, 0.8e-3, 100e3, 1}, d) == 0);
  CHECK(d.bias.rail_v == -75);
  Evaluation e;
  evaluate(d, Depth::rest, e);
  CHECK(within_ratio(e.operating_point.plate_current_a[0], 0.8e-3, 1e-5));
}

TEST_CASE("wishes beyond the supply are refused by the volts that are missing") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  // 3 mA through 100 k are 300 V, 60 V stand on the tail and 20 V are the least for the tube: 130 V short
  CHECK(within(size_stage({250, 0.24, 3e-3, 100e3, 1}, d), 130, 1e-9));
}

TEST_CASE("behind a main supply the dropping resistor carries the current of all sections") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.main_supply_v = 400;
  d.supply_v = 0;
  // 100 V to drop at 2 x 0.5 mA: 100 kohm
  CHECK(size_stage({300, 0.2, 0.5e-3, 100e3, 1}, d) == 0);
  CHECK(within_ratio(d.dropping_ohm, 100e3, 1e-12));
  CHECK(d.supply_v == 0);  // it is solved
  Design stiff = pair_of(tube);
  CHECK(size_stage({300, 0.2, 0.5e-3, 100e3, 1}, stiff) == 0);
  CHECK(d.bias.ohm == stiff.bias.ohm);
  CHECK(d.tail.ohm == stiff.tail.ohm);

  Design gain;
  gain.circuit = CircuitKind::common_cathode;
  gain.tube = {&tube, &tube};
  gain.main_supply_v = 350;
  CHECK(size_stage({300, 0, 1e-3, 100e3, 1}, gain) == 0);
  CHECK(within_ratio(gain.dropping_ohm, 50e3, 1e-12));
}

TEST_CASE("a main supply below the wished one is refused by the volts that are missing") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.main_supply_v = 280;
  CHECK(size_stage({300, 0.2, 0.5e-3, 100e3, 1}, d) == 20);
}

TEST_CASE("a stage sized behind a dropping resistor has the wished supply when it is solved") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7)};
  RandomNumbers random{std::mt19937_64(6)};
  int sized = 0;
  for (int n = 0; n < 100; ++n) {
    Design d = pair_of(tubes[random.below(3)], static_cast<BiasForm>(random.below(3)),
                       static_cast<TailForm>(random.below(2)));
    d.bias.rail_v = 0;
    const double ohm = random.log_between(22e3, 150e3), supply = random.between(250, 350);
    d.main_supply_v = supply * random.between(1.02, 1.5);
    const SizingInputs inputs{supply, random.between(0.1, 0.3), random.between(0.2, 0.5) * supply / ohm, ohm,
                              1};
    if (size_stage(inputs, d) > 0) continue;
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    if (d.bias.ohm <= 1 || e.operating_point.grid_to_cathode_v[0] > -0.6)
      continue;  // as above, and no grid current
    ++sized;
    CHECK(within_ratio(e.operating_point.supply_v, supply, 1e-5));
    CHECK(within_ratio(e.operating_point.plate_current_a[0], inputs.plate_current_a, 1e-5));
    // the same with the nearest E24 value: the supply moves by less than the resistor's share of the drop
    const double exact_ohm = d.dropping_ohm;
    for (const double off : {0.95, 1.05}) {
      d.dropping_ohm = off * exact_ohm;
      evaluate(d, Depth::rest, e);
      const double moved = std::abs(e.operating_point.supply_v - supply);
      CHECK(moved > 0);
      CHECK(moved < 0.05 * (d.main_supply_v - supply));
    }
  }
  CHECK(sized > 40);
}

TEST_CASE("a first stage alone that is sized for a current passes it") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7)};
  RandomNumbers random{std::mt19937_64(69)};
  int sized = 0;
  for (int n = 0; n < 100; ++n) {
    Design d = pair_of(tubes[random.below(3)]);
    d.circuit = CircuitKind::common_cathode;
    const double ohm = random.log_between(22e3, 150e3), supply = random.between(200, 400);
    const SizingInputs inputs{supply, 0, random.between(0.2, 0.5) * supply / ohm, ohm, 1};
    if (size_stage(inputs, d) > 0) continue;
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    if (d.cathode_ohm <= 1 || e.operating_point.grid_to_cathode_v[0] > -0.01) continue;
    ++sized;
    CHECK(within_ratio(e.operating_point.plate_current_a[0], inputs.plate_current_a, 1e-5));
    CHECK(within_ratio(e.operating_point.cathode_v, inputs.plate_current_a * d.cathode_ohm, 1e-5));
  }
  CHECK(sized > 60);
}
