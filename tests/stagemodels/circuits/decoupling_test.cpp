// A first stage whose supply is decoupled, against closed formulas: resistors in a row at rest, a capacitor
// that carries no direct current over the cycle, and the divider that the two make for ripple and signal.
#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/choose_capacitors.h"
#include "stagemodels/linear/network.h"
#include "stagemodels/sizing.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

using Complex = std::complex<double>;
constexpr double kDecoupling_ohm = 22e3;

Design chain_of(const Tube& first, const Tube& pair, BiasForm bias) {
  Design d = pair_of(pair, bias);
  d.circuit = CircuitKind::gain_and_splitter;
  d.plate_ohm = {47e3, 51e3};
  d.bias.ohm = 1200;
  d.tail.ohm = bias == BiasForm::self_biased ? 15e3 : bias == BiasForm::direct_coupled ? 47e3 : 33e3;
  d.bias.grid_v = 0;
  d.first_stage.tube = &first;
  d.first_stage.plate_ohm = bias == BiasForm::direct_coupled ? 220e3 : 100e3;
  d.first_stage.cathode_ohm = 1500;
  return d;
}

Design decoupled_chain(const Tube& first, const Tube& pair, BiasForm bias) {
  Design d = chain_of(first, pair, bias);
  d.first_stage.decoupling_ohm = kDecoupling_ohm;
  return d;
}

/// The first stage alone on a supply of its own, with the leak of the pair's grid as its load.
Design first_alone(const Design& chain, double supply_v) {
  const FirstStage& f = chain.first_stage;
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {f.tube, f.tube};
  d.supply_v = supply_v;
  d.plate_ohm[0] = f.plate_ohm;
  d.cathode_ohm = f.cathode_ohm;
  d.cathode_unbypassed_ohm = f.cathode_unbypassed_ohm;
  d.grid_leak_ohm = f.grid_leak_ohm;
  d.load_ohm = chain.grid_leak_ohm;
  d.swing_peak_v = 1;
  return d;
}

double parallel(double a, double b) {
  return a * b / (a + b);
}

}  // namespace

TEST_CASE("at rest what decouples the first stage stands in a row with its plate resistor") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const bool dropped : {false, true})
      for (const double unbypassed_ohm : {0.0, 220.0}) {
        Design d = decoupled_chain(high, low, bias);
        d.first_stage.cathode_unbypassed_ohm = unbypassed_ohm;
        if (dropped) {
          d.main_supply_v = 380;
          d.dropping_ohm = 10e3;
        }
        Design row = d;
        row.first_stage.plate_ohm += kDecoupling_ohm;
        row.first_stage.decoupling_ohm = 0;
        CHECK(surroundings_of(d) == Surroundings::real);
        CHECK((surroundings_of(row) == Surroundings::real) == dropped);
        Evaluation e, r;
        evaluate(d, Depth::rest, e);
        evaluate(row, Depth::rest, r);
        REQUIRE(e.operating_point.solved == Solved::yes);
        REQUIRE(r.operating_point.solved == Solved::yes);
        const OperatingPoint &a = e.operating_point, &b = r.operating_point;
        CHECK(within(a.first.plate_v, b.first.plate_v, 1e-5));
        CHECK(within(a.first.cathode_v, b.first.cathode_v, 1e-6));
        CHECK(within_ratio(a.first.plate_current_a, b.first.plate_current_a, 1e-7));
        CHECK(within_ratio(a.supply_current_a, b.supply_current_a, 1e-7));
        CHECK(within(a.supply_v, b.supply_v, 1e-5));
        for (int i = 0; i < 2; ++i) CHECK(within(a.plate_v[i], b.plate_v[i], 1e-5));
      }
}

TEST_CASE("over the cycle the decoupled supply stands where its resistor carries the mean current") {
  // No mean current flows through a capacitor: the first stage is the stage alone on a supply that is lower
  // by its mean current times the resistor. Nothing of the pair reaches it, whose leak runs to ground.
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const double unbypassed_share : {0.0, 0.3}) {
    Design d = decoupled_chain(high, low, BiasForm::negative_rail);
    d.first_stage.cathode_unbypassed_ohm = unbypassed_share * d.first_stage.cathode_ohm;
    for (const double drive_v : {0.1, 0.5}) {
      Waveforms w, v;
      const SteadyState s = steady_state_at_drive(d, drive_v, &w);
      REQUIRE(s.solved == Solved::yes);
      const double mean_a = s.first.cathode_current_mean_a;  // no grid conducts
      const Design alone = first_alone(d, d.supply_v - mean_a * kDecoupling_ohm);
      const SteadyState t = steady_state_at_drive(alone, drive_v, &v);
      REQUIRE(t.solved == Solved::yes);
      CHECK(within_ratio(s.first.thd_pct, t.thd_pct[0], 1e-5));
      CHECK(within_ratio(s.first.plate_dissipation_w, t.plate_dissipation_w[0], 1e-7));
      CHECK(within_ratio(mean_a, t.supply_current_a, 1e-7));
      CHECK(within_ratio(s.first.harmonic_v[1], t.harmonic_v[0][1], 1e-7));
      CHECK(within(s.supply_v, d.supply_v, 1e-6));
    }
  }
}

TEST_CASE("ripple reaches the first plate through the divider of the decoupling") {
  // From the supply to the decoupled node: 1 / (1 + R / Z + j omega R C), Z being what the stage puts on it,
  // the plate resistor and behind it rp beside the grid leak. What reaches the pair by another way is there
  // with the node held still, and the rest is what comes through the first stage.
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = decoupled_chain(high, low, BiasForm::negative_rail);
  Evaluation e;
  evaluate(d, Depth::rest, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const OperatingPoint& rest = e.operating_point;
  const FirstStage& f = d.first_stage;
  const double z_ohm = f.plate_ohm + parallel(rest.first.rp_ohm, d.grid_leak_ohm);
  Design direct = d;
  direct.first_stage.decoupling_ohm = 0;
  for (const double farad : {1e-6, 22e-6})
    for (const double hz : {1.0, 20.0, 100.0, 5e3}) {
      Design decoupled = d;
      decoupled.first_stage.decoupling_f = farad;
      const LinearResponse still = LinearNetwork(d, rest).from_supply(hz),  // 0 F: held still
          all = LinearNetwork(direct, rest).from_supply(hz),
                           some = LinearNetwork(decoupled, rest).from_supply(hz);
      const double turns = 2 * std::numbers::pi * hz * kDecoupling_ohm * farad;
      const Complex divider = 1.0 / Complex(1 + kDecoupling_ohm / z_ohm, turns);
      for (std::size_t i = 0; i < 2; ++i) {
        const Complex through = some.output[i] - still.output[i], whole = all.output[i] - still.output[i];
        CAPTURE(hz);
        CHECK(std::abs(through / whole - divider) < 1e-9 * std::abs(divider) + 1e-12);
      }
    }
}

TEST_CASE("below its corner the decoupling is part of the first plate's load") {
  // Gain -mu Z / (rp + Z) with Z = (Rp + R / (1 + j omega R C)) beside the grid leak.
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = decoupled_chain(high, low, BiasForm::negative_rail);
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const OperatingPoint& rest = e.operating_point;
  const auto gain = [&](Complex row) {
    const Complex z = row * d.grid_leak_ohm / (row + d.grid_leak_ohm);
    return z / (rest.first.rp_ohm + z);
  };
  CHECK(within_ratio(e.small_signal.first_stage_gain, -rest.first.mu * gain(d.first_stage.plate_ohm).real(),
                     1e-6));
  Design decoupled = d;
  decoupled.first_stage.decoupling_f = 2.2e-6;
  for (const double hz : {0.3, 3.0, 30.0, 1e3}) {
    const Complex behind = kDecoupling_ohm / Complex(1, 2 * std::numbers::pi * hz * kDecoupling_ohm * 2.2e-6);
    const Complex want = gain(d.first_stage.plate_ohm + behind) / gain(d.first_stage.plate_ohm);
    const Complex got = LinearNetwork(decoupled, rest).from_input(hz).output[0] /
                        LinearNetwork(d, rest).from_input(hz).output[0];
    CAPTURE(hz);
    CHECK(std::abs(got - want) < 1e-9 * std::abs(want));
  }
}

TEST_CASE("the decoupling capacitor is chosen with its corner a decade below the low frequency") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = decoupled_chain(high, low, BiasForm::self_biased);
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  constexpr std::array kLevels{1e-9,   1e-8, 2.2e-8, 4.7e-8, 1e-7, 2.2e-7, 4.7e-7, 1e-6, 2.2e-6,
                               4.7e-6, 1e-5, 2.2e-5, 4.7e-5, 1e-4, 2.2e-4, 4.7e-4, 1e-3};
  constexpr double kLowest_hz = 10;
  const CapacitorChoice choice = choose_capacitors(d, e.operating_point, kLowest_hz, kLevels);
  CHECK(choice.held);
  // What the capacitor sees: the resistor, and beside it the stage. The plate's other load, the pair's grid
  // leak, is bootstrapped and larger than it looks; it makes less than a fiftieth of the whole.
  const double stage_ohm =
      d.first_stage.plate_ohm + parallel(e.operating_point.first.rp_ohm, d.grid_leak_ohm);
  const double ohm = parallel(kDecoupling_ohm, stage_ohm);
  const double least_f = 10 / (2 * std::numbers::pi * kLowest_hz * ohm);
  CHECK(least_f > 4.7e-6);  // so that 10 uF is the answer, well clear of its neighbours
  CHECK(least_f * 1.02 < 1e-5);
  CHECK(d.first_stage.decoupling_f == 1e-5);

  Design plain = chain_of(high, low, BiasForm::self_biased);
  evaluate(plain, Depth::small_signal, e);
  choose_capacitors(plain, e.operating_point, kLowest_hz, kLevels);
  CHECK(plain.first_stage.decoupling_f == 0);  // nothing to decouple
}

TEST_CASE("the decoupling capacitor is the least that keeps the ripple asked for, and stays if none does") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = decoupled_chain(high, low, BiasForm::self_biased);
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  constexpr std::array kLevels{1e-8, 1e-7, 1e-6, 1e-5, 2.2e-5, 4.7e-5, 1e-4, 2.2e-4};
  constexpr double kLowest_hz = 10;
  const auto chosen = [&](double most_ripple) {
    Design with = d;
    choose_capacitors(with, e.operating_point, kLowest_hz, kLevels, {}, most_ripple);
    return with;
  };
  const auto ripple = [&](Design with, double farad) {
    with.first_stage.decoupling_f = farad;
    const auto out = LinearNetwork(with, e.operating_point).from_supply(FrequencyFigures::kRipple_hz).output;
    return std::abs(out[0] - out[1]);
  };
  const Design open = chosen(INFINITY);
  CHECK(open.first_stage.decoupling_f == 1e-5);
  for (std::size_t n = 4; n < kLevels.size(); ++n) {
    const double most = ripple(open, kLevels[n]) * (1 + 1e-9);
    CAPTURE(n);
    REQUIRE(ripple(open, kLevels[n - 1]) > most);
    const Design quiet = chosen(most);
    CHECK(quiet.first_stage.decoupling_f == kLevels[n]);
    CHECK(quiet.first_stage.coupling_f == open.first_stage.coupling_f);
    CHECK(quiet.coupling_f == open.coupling_f);
  }
  const double out_of_reach = 0.5 * ripple(open, kLevels.back());
  CHECK(chosen(out_of_reach).first_stage.decoupling_f == open.first_stage.decoupling_f);
}

TEST_CASE("a decoupled first stage is sized to the current asked for") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled}) {
    Design d = decoupled_chain(high, low, bias);
    SizingInputs wanted;
    wanted.supply_v = 320;
    wanted.tail_fraction = bias == BiasForm::direct_coupled ? 0.3 : 0.15;
    wanted.plate_current_a = 1.5e-3;
    wanted.plate_ohm = 47e3;
    wanted.first_plate_ohm = 150e3;
    wanted.first_plate_current_a = 0.8e-3;
    REQUIRE(size_stage(wanted, d) == 0);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    const SectionRest& f = e.operating_point.first;
    CHECK(
        within_ratio(f.plate_current_a * (d.first_stage.plate_ohm + kDecoupling_ohm), 320 - f.plate_v, 1e-5));
    if (bias == BiasForm::self_biased) CHECK(within_ratio(f.plate_current_a, 0.8e-3, 1e-3));
    for (int i = 0; i < 2; ++i) CHECK(within_ratio(e.operating_point.plate_current_a[i], 1.5e-3, 0.05));
  }
}
