// A chain against its parts: where one stage cannot touch the other, each has to be what it is alone.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "stagemodels/evaluate.h"
#include "stagemodels/linear/corners.h"
#include "stagemodels/linear/network.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design chain_of(const Tube& first, const Tube& pair, BiasForm bias) {
  Design d = pair_of(pair, bias);
  d.circuit = CircuitKind::gain_and_splitter;
  d.plate_ohm = {47e3, 51e3};  // about 1.5 mA a section, every form
  d.bias.ohm = 1200;
  d.tail.ohm = bias == BiasForm::self_biased ? 15e3 : bias == BiasForm::direct_coupled ? 47e3 : 33e3;
  d.bias.grid_v = 0;
  d.first_stage.tube = &first;
  d.first_stage.plate_ohm = bias == BiasForm::direct_coupled ? 220e3 : 100e3;
  d.first_stage.cathode_ohm = 1500;
  return d;
}

/// The first stage alone, with the leak of the pair's grid as its load.
Design first_alone(const Design& chain) {
  const FirstStage& f = chain.first_stage;
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {f.tube, f.tube};
  d.supply_v = chain.supply_v;
  d.plate_ohm[0] = f.plate_ohm;
  d.cathode_ohm = f.cathode_ohm;
  d.cathode_unbypassed_ohm = f.cathode_unbypassed_ohm;
  d.grid_leak_ohm = f.grid_leak_ohm;
  d.load_ohm = chain.grid_leak_ohm;
  d.source_ohm = chain.source_ohm;
  d.swing_peak_v = 1;
  return d;
}

}  // namespace

TEST_CASE("with a pair that only hangs on as a grid leak the first stage is the stage alone") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const double source_ohm : {0.0, 22e3})
    for (const double unbypassed_share : {0.0, 0.3, 1.0}) {
      Design d = chain_of(high, low, BiasForm::negative_rail);  // its leak runs to ground
      d.source_ohm = source_ohm;
      d.first_stage.cathode_unbypassed_ohm = unbypassed_share * d.first_stage.cathode_ohm;
      const Design alone = first_alone(d);
      Evaluation e, a;
      evaluate(d, Depth::small_signal, e);
      evaluate(alone, Depth::small_signal, a);
      REQUIRE(e.operating_point.solved == Solved::yes);
      CHECK(within(e.operating_point.first.plate_v, a.operating_point.plate_v[0], 1e-6));
      CHECK(within(e.operating_point.first.cathode_v, a.operating_point.cathode_v, 1e-6));
      CHECK(within_ratio(e.small_signal.first_stage_gain, a.small_signal.gain[0], 1e-9));
      constexpr double kDrive_v = 0.1;  // the pair's grid stays clear of conduction
      Waveforms w, v;
      const SteadyState s = steady_state_at_drive(d, kDrive_v, &w);
      const SteadyState t = steady_state_at_drive(alone, kDrive_v, &v);
      REQUIRE(s.solved == Solved::yes);
      REQUIRE(t.solved == Solved::yes);
      for (int k = 0; k < w.instants; ++k) CHECK(within(w.first.plate_v[k], v.plate_v[0][k], 1e-6));
      CHECK(within_ratio(s.first.thd_pct, t.thd_pct[0], 1e-6));
      CHECK(within_ratio(s.first.plate_dissipation_w, t.plate_dissipation_w[0], 1e-8));
    }
}

TEST_CASE("coupled directly, the pair rests where the same pair on a given grid voltage does") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  const Design d = chain_of(high, low, BiasForm::direct_coupled);
  Evaluation e, p;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  CHECK(e.operating_point.grid_v[0] == e.operating_point.first.plate_v);
  CHECK(within(e.operating_point.leak_node_v, e.operating_point.first.plate_v, 1e-9));
  Design pair = d;
  pair.circuit = CircuitKind::long_tailed_pair;
  pair.bias.grid_v = e.operating_point.first.plate_v;
  evaluate(pair, Depth::small_signal, p);
  for (int i = 0; i < 2; ++i) {
    CHECK(within(e.operating_point.plate_v[i], p.operating_point.plate_v[i], 1e-5));
    // One gain behind the other, since the first is counted with the pair as its load.
    CHECK(
        within_ratio(e.small_signal.gain[i], e.small_signal.first_stage_gain * p.small_signal.gain[i], 1e-9));
  }
  CHECK(within(e.operating_point.cathode_v, p.operating_point.cathode_v, 1e-5));
}

TEST_CASE("the pair's distortion and the first stage's are one signal: a small drive has only the gains") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
    Design d = chain_of(high, low, bias);
    d.swing_peak_v = 1e-2;
    Evaluation e;
    evaluate(d, Depth::full, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    const double least = std::fmin(std::abs(e.small_signal.gain[0]), std::abs(e.small_signal.gain[1]));
    CHECK(within_ratio(e.at_target.input_peak_v, d.swing_peak_v / least, 1e-5));
    CHECK(e.small_signal.gain[0] > 0);  // turned twice
    CHECK(e.small_signal.gain[1] < 0);
    CHECK(e.at_target.thd_pct[0] < 0.02);
    CHECK(e.clean.solved == Solved::yes);
    CHECK(e.clean.swing_peak_v > 1);
  }
}

TEST_CASE("the input capacitance of the pair loads the first plate: one pole in front of the splitter") {
  Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  low.capacitance = {.grid_plate_f = 20e-12, .grid_cathode_f = 0, .plate_cathode_f = 0, .source = "test"};
  Design d = chain_of(high, low, BiasForm::direct_coupled);
  Evaluation e, p;
  evaluate(d, Depth::with_frequency, e);
  REQUIRE(e.frequency_known);
  Design pair = d;
  pair.circuit = CircuitKind::long_tailed_pair;
  pair.bias.grid_v = e.operating_point.first.plate_v;
  evaluate(pair, Depth::with_frequency, p);
  REQUIRE(p.frequency_known);
  const FirstStage& f = d.first_stage;
  const double siemens =
      1 / f.plate_ohm + 1 / e.operating_point.first.rp_ohm + 1 / d.grid_leak_ohm;  // cathode bypassed
  const double pole_hz = siemens / (2 * std::numbers::pi * p.frequency.input_f);
  REQUIRE(e.frequency.high_corner_hz[0]);
  // The pair's own pole lies a decade or two further up and brings the corner down by less than a twentieth.
  CHECK(*e.frequency.high_corner_hz[0] < pole_hz * 1.001);
  CHECK(*e.frequency.high_corner_hz[0] > pole_hz * 0.9);
}

TEST_CASE("chains settle from rest to the clean swing, behind a dropping resistor too") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7),
                        tube_with(kRsd2, -0.3)};
  RandomNumbers random{std::mt19937_64(61)};
  int solved = 0, reached = 0;
  constexpr int kDesigns = 120;
  for (int n = 0; n < kDesigns; ++n) {
    const auto bias = static_cast<BiasForm>(random.below(3));
    Design d = chain_of(tubes[random.below(4)], tubes[random.below(3)], bias);
    const double ohm = random.log_between(33e3, 150e3);
    d.plate_ohm = {ohm, ohm * random.between(1, 1.2)};
    const double each = random.between(0.2, 0.4) * d.supply_v / ohm;
    d.bias.ohm = random.between(1, 5) / (2 * each);
    d.tail.ohm = random.between(0.15, 0.35) * d.supply_v / (2 * each);
    d.first_stage.plate_ohm = random.log_between(68e3, 270e3);
    d.first_stage.cathode_ohm = random.log_between(680, 4.7e3);
    d.source_ohm = random.below(2) * 10e3;
    d.swing_peak_v = random.between(5, 25);
    if (random.below(3) == 0) {
      d.main_supply_v = 360;
      d.dropping_ohm = 10e3;
      d.supply_v = 0;
    }
    CAPTURE(n);
    Evaluation e;
    evaluate(d, Depth::full, e);
    CHECK(e.operating_point.solved == Solved::yes);
    CHECK(e.at_target.solved != Solved::no_convergence);
    CHECK(e.clean.solved == Solved::yes);
    solved += e.operating_point.solved == Solved::yes;
    reached += e.at_target.solved == Solved::yes;
    if (e.at_target.solved != Solved::yes) continue;
    // What the supply gives is what the resistors, the plates and the loads use (energy, over the cycle).
    CHECK(e.at_target.supply_current_a > 0);
    CHECK(std::isfinite(e.at_target.first.thd_pct));
  }
  CHECK(solved == kDesigns);
  CHECK(reached > kDesigns / 2);
}
