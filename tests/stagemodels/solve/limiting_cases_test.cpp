// Pairs at the ends of what a tail can be. Formulas: symbolic solution of the three node equations (textbook
// analysis of the cathode-coupled pair, Valley & Wallman, Vacuum Tube Amplifiers, 1948, chapter 11):
//   T = Rt || (r2 + R2) / (mu2 + 1), A1 = -mu1 R1 / (r1 + R1 + (mu1 + 1) T), kappa = mu1 T / (the same),
//   A2 = kappa (mu2 + 1) R2 / (r2 + R2).
// The rest of the formulas, at random pairs: circuits/small_signal_formulas_test.cpp.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

double parallel(double a, double b) {
  return a * b / (a + b);
}

Evaluation solved(const Design& d, Depth depth = Depth::at_target) {
  Evaluation e;
  evaluate(d, depth, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  if (depth >= Depth::at_target) REQUIRE(e.at_target.solved == Solved::yes);
  return e;
}

/// A law whose grid can stand at its cathode's voltage: about 0.3 mA there, so that no bias is needed.
const Koren1996 kShifted{100, 1.4, 1060, 600, 300, -1.5};

}  // namespace

TEST_CASE("an infinite tail: the outputs are opposite at every instant, for unlike tubes and at any drive") {
  // i1 + i2 cannot change, so with equal plate and load resistors output 1 is minus output 2: perfect
  // balance, and what each output has of distortion the difference has too.
  const Tube one = tube_with(kKoren12AX7), two = tube_with(kKoren12AT7);
  for (BiasForm bias : {BiasForm::direct_coupled, BiasForm::negative_rail, BiasForm::self_biased}) {
    Design d = pair_of(one, bias, TailForm::constant_current);
    d.tube = {&one, &two};
    d.plate_ohm = {150e3, 150e3};
    d.tail.output_ohm = 1e12;
    d.grid_leak_ohm = 1e8;  // 1e100 would do; what the leaks carry past the sink is parts of 150 kohm / leak
    const Evaluation e = solved(d);
    const double leaks = bias == BiasForm::self_biased ? 2 * 150e3 / d.grid_leak_ohm : 1e-6;
    CHECK(e.at_target.thd_pct[0] > 0.1);  // the case is no trivial one
    CHECK(within(e.at_target.balance_pct, 0, 100 * leaks));
    CHECK(within(e.small_signal.balance_pct, 0, 100 * leaks));
    for (int k = 0; k < e.waveforms.instants; ++k)
      CHECK(within(e.waveforms.output_v[0][k], -e.waveforms.output_v[1][k], leaks * d.swing_peak_v));
    CHECK(within(e.at_target.thd_pct[0], e.at_target.thd_pct[1], 100 * leaks));
  }
}

TEST_CASE("imbalance falls as one over the tail: what is left is (r2 + R2) / ((mu2 + 1) Rt)") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::negative_rail, TailForm::constant_current);
  d.plate_ohm = {150e3, 150e3};
  d.tail.current_a = 1e-3;
  for (const double ohm : {1e6, 1e7, 1e8, 1e9}) {
    d.tail.output_ohm = ohm;
    const Evaluation e = solved(d, Depth::small_signal);
    const double r = e.operating_point.rp_ohm[1], mu = e.operating_point.mu[1],
                 R = parallel(150e3, d.load_ohm);
    const double ratio = -e.small_signal.gain[0] / e.small_signal.gain[1];
    CHECK(within_ratio(ratio - 1, (r + R) / ((mu + 1) * ohm), 1e-4));
  }
}

TEST_CASE("a tail that shrinks to the bias resistor leaves the pair of that cathode resistor") {
  // Self-biased with 1 ohm of tail: Rt = bias.ohm + 1 ohm. Leaks of 100 Mohm add parts of 1e-5.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.tail.ohm = 1;
  d.bias.ohm = 1500;
  d.grid_leak_ohm = 1e8;
  const Evaluation e = solved(d, Depth::small_signal);
  const OperatingPoint& o = e.operating_point;
  const double Rt = d.bias.ohm + d.tail.ohm;
  const double R1 = parallel(d.plate_ohm[0], d.load_ohm), R2 = parallel(d.plate_ohm[1], d.load_ohm);
  const double T = parallel(Rt, (o.rp_ohm[1] + R2) / (o.mu[1] + 1));
  const double all = o.rp_ohm[0] + R1 + (o.mu[0] + 1) * T;
  CHECK(within_ratio(e.small_signal.gain[0], -o.mu[0] * R1 / all, 1e-4));
  CHECK(within_ratio(e.small_signal.gain[1], o.mu[0] * T / all * (o.mu[1] + 1) * R2 / (o.rp_ohm[1] + R2),
                     1e-4));
  // and both share one cathode resistor: each section alone would have twice of it (equal halves)
  Design half = d;
  half.circuit = CircuitKind::common_cathode;
  d.plate_ohm = {150e3, 150e3};
  half.cathode_ohm = 2 * d.bias.ohm;  // from grid to cathode; the ohm of tail lies below the grids
  half.plate_ohm = d.plate_ohm;
  const Evaluation both = solved(d, Depth::rest), alone = solved(half, Depth::rest);
  CHECK(
      within_ratio(both.operating_point.plate_current_a[0], alone.operating_point.plate_current_a[0], 1e-4));
}

TEST_CASE("and with that resistor gone too, two separate stages: one amplifies, the other hears nothing") {
  // Rt -> 0: A1 -> -mu1 R1 / (r1 + R1); A2 -> mu1 Rt / (r1 + R1) * (mu2 + 1) R2 / (r2 + R2), in proportion to
  // Rt.
  const Tube tube = tube_with(kShifted);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.bias.grid_v = 0;
  Design alone = d;
  alone.circuit = CircuitKind::common_cathode;
  alone.cathode_ohm = 1;
  alone.cathode_unbypassed_ohm = 1;
  for (const double ohm : {10.0, 1.0}) {
    d.tail.ohm = ohm;
    const Evaluation e = solved(d, Depth::small_signal);
    const OperatingPoint& o = e.operating_point;
    const double R1 = parallel(d.plate_ohm[0], d.load_ohm), R2 = parallel(d.plate_ohm[1], d.load_ohm);
    // what is neglected: (mu + 1) Rt beside r + R, here 200 kohm
    const double left = (o.mu[0] + 1) * ohm / (o.rp_ohm[0] + R1) + (o.mu[1] + 1) * ohm / (o.rp_ohm[1] + R2);
    CHECK(left < 0.02);
    CHECK(within_ratio(e.small_signal.gain[0], -o.mu[0] * R1 / (o.rp_ohm[0] + R1), left));
    CHECK(within_ratio(e.small_signal.gain[1],
                       o.mu[0] * ohm / (o.rp_ohm[0] + R1) * (o.mu[1] + 1) * R2 / (o.rp_ohm[1] + R2), left));
    CHECK(within_ratio(e.small_signal.output_impedance_alone_ohm[0], parallel(d.plate_ohm[0], o.rp_ohm[0]),
                       left));
  }
  // Driven hard as well: section 1 does what a stage of its own does.
  Waveforms pair_waves, alone_waves;
  const SteadyState pair_state = steady_state_at_drive(d, 0.4, &pair_waves);
  const SteadyState alone_state = steady_state_at_drive(alone, 0.4, &alone_waves);
  REQUIRE(pair_state.solved == Solved::yes);
  REQUIRE(alone_state.solved == Solved::yes);
  CHECK(alone_state.thd_pct[0] > 0.5);
  CHECK(within_ratio(pair_state.output_peak_v[0], alone_state.output_peak_v[0], 2e-3));
  CHECK(within_ratio(pair_state.thd_pct[0], alone_state.thd_pct[0], 5e-3));
  CHECK(pair_state.output_peak_v[1] < 2e-3 * pair_state.output_peak_v[0]);
}
