// The linearised stage against closed formulas.
// Source of the formulas: symbolic solution of the node equations of the cathode-coupled pair (textbook
// small-signal analysis, e.g. Valley & Wallman, Vacuum Tube Amplifiers, 1948, chapter 11) and of the gain
// stage (Langford-Smith, Radiotron Designer's Handbook, 4th ed., chapter 12).
#include <doctest/doctest.h>

#include "stagemodels/linear/corners.h"
#include "stagemodels/linear/frequency_figures.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using Complex = std::complex<double>;

namespace {

double degrees_off(Complex one, Complex two) {
  return std::abs(std::arg(-one / two)) * 180 / std::numbers::pi;
}

/// Sizes of the gains of a pair of alike sections with grid 2 held, and of the cathode: R the load of each
/// plate, Rt the tail.
struct FiniteTail {
  double inverted, upright, cathode;
};
FiniteTail finite_tail(double mu, double r, double R, double Rt) {
  const double T = parallel(Rt, (r + R) / (mu + 1)), kappa = mu * T / (r + R + (mu + 1) * T);
  return {mu * R / (r + R + (mu + 1) * T), kappa * (mu + 1) * R / (r + R), kappa};
}

}  // namespace

TEST_CASE("a directly coupled pair loses its grid bypass as the divider of leak and capacitor has it") {
  // Grid 2 follows grid 1 by 1 / (1 + jx), x = omega R C of its leak and capacitor, so that with the gains G1
  // and G2 of the pair output 1 is -(D + jx G1) / (1 + jx), D = G1 - G2, and output 2 (-D + jx G2) / (1 +
  // jx).
  const Tube tube = tube_of(100, 65e3);
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  d.grid_leak_ohm = 1e6;
  d.grid_bypass_f = 0.1e-6;
  const LinearNetwork network(d, rest_of(100));
  const FiniteTail g = finite_tail(100, 65e3, parallel(100e3, 330e3), 68e3);
  const double D = g.inverted - g.upright;
  for (const double hz : {1.0, 20.0}) {
    const Complex jx(0, 2 * std::numbers::pi * hz * d.grid_leak_ohm * d.grid_bypass_f);
    const Complex one = -(D + jx * g.inverted) / (1.0 + jx), two = (-D + jx * g.upright) / (1.0 + jx);
    const LinearResponse r = network.from_input(hz);
    CHECK(within_ratio(std::abs(r.output[0]), std::abs(one), 0.002));
    CHECK(within_ratio(std::abs(r.output[1]), std::abs(two), 0.002));
    CHECK(within(degrees_off(r.output[0], r.output[1]), degrees_off(one, two), hz < 2 ? 0.05 : 0.005));
    // the ratio of the sizes is that of mid-band, at 1 Hz to the few parts in a thousand that the phase
    // leaves
    CHECK(within_ratio(std::abs(r.output[0] / r.output[1]), g.inverted / g.upright, 0.002));
  }
}

TEST_CASE("a self-biased pair follows the formulas of its bootstrapped leaks") {
  // h as in the next case, t = h / (1 - h + jx) what grid 2 has of grid 1: the outputs go as G1 - G2 t and G2
  // - G1 t, their difference as 1 - t. The leaks' own load on the tail, 10k / 1M, is what the formulas leave
  // out.
  const Tube tube = tube_of(100, 65e3);
  Design d = direct_pair(tube, 100e3, 330e3, 10e3);
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 470;
  d.grid_leak_ohm = 1e6;
  d.grid_bypass_f = 0.1e-6;
  const double R = parallel(100e3, 330e3), Rt = d.bias.ohm + d.tail.ohm;
  const double h = d.tail.ohm * 100 / (65e3 + R + 2 * 101 * Rt);
  const FiniteTail g = finite_tail(100, 65e3, R, Rt);
  const OperatingPoint rest = rest_of(100);
  const LinearNetwork network(d, rest);
  const Pair mid = mid_band_gain(d, rest);
  CHECK(within(-mid[0] / mid[1], g.inverted / g.upright, 0.0005));
  for (const double hz : {0.84, 0.3}) {
    const Complex jx(0, 2 * std::numbers::pi * hz * d.grid_leak_ohm * d.grid_bypass_f);
    const Complex t = h / (1 - h + jx);
    const LinearResponse r = network.from_input(hz);
    CHECK(within(std::abs(r.output[0] / r.output[1]),
                 std::abs((g.inverted - g.upright * t) / (g.upright - g.inverted * t)), 0.005));
    CHECK(within_ratio(std::abs((r.output[0] - r.output[1]) / (mid[0] - mid[1])), std::abs(1.0 - t), 0.003));
  }
  CHECK(within_ratio(network.from_input(1e3).input_ohm.real(), d.grid_leak_ohm / (1 - h), 0.002));
}

TEST_CASE("the input resistance of a leak that returns to the tail is Rg / (1 - h)") {
  // h = (tail / (bias + tail)) kc / 2, kc = 2 mu Rt / (r + R + 2 (mu + 1) Rt), Rt = bias + tail; leaks of
  // 100M, so that what they take from the tail is a part in ten thousand
  const Tube tube = tube_of(70, 44e3);
  Design d = direct_pair(tube, 150e3, 220e3, 27e3);
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 1500;
  d.grid_leak_ohm = 100e6;
  const double Rt = d.bias.ohm + d.tail.ohm, R = parallel(150e3, 220e3);
  const double h = d.tail.ohm / Rt * 70 * Rt / (44e3 + R + 2 * 71 * Rt);
  const LinearNetwork network(d, rest_of(70));
  CHECK(within_ratio(network.from_input(1e3).input_ohm.real(), d.grid_leak_ohm / (1 - h), 1e-3));
}

TEST_CASE(
    "input capacitance is Miller's, and its corner with a first stage that of one resistor and capacitor") {
  // Cgp (1 + G1) + Cgk (1 - kappa) with the capacitances of the RCA 12AX7-A sheet and 5 pF of strays, behind
  // 40k.
  Tube tube = tube_of(100, 62.5e3);
  tube.capacitance = {1.7e-12, 1.6e-12, 0, "RCA 12AX7-A data sheet, 1960"};
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  d.source_ohm = 40e3;
  d.source_f = 5e-12;
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest_of(100), frequency_part::all_but_curves, f));
  const FiniteTail g = finite_tail(100, 62.5e3, parallel(100e3, 330e3), 68e3);
  const double input_f = 1.7e-12 * (1 + g.inverted) + 1.6e-12 * (1 - g.cathode);
  CHECK(within_ratio(f.input_f, input_f, 0.002));
  REQUIRE(f.high_corner_hz[0]);
  // the outputs' own 1.7 pF move it down by some per cent
  CHECK(
      within(*f.high_corner_hz[0], 1 / (2 * std::numbers::pi * d.source_ohm * (input_f + d.source_f)), 3e3));
}

TEST_CASE("what the source sees is the network behind its resistance") {
  const Tube tube = tube_of(100, 62.5e3);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.source_ohm = 47e3;
  d.source_f = 100e-12;
  d.input_coupling_f = 10e-9;
  d.grid_leak_ohm = 470e3;
  for (const double hz : {5.0, 300.0, 50e3}) {
    const Complex jw(0, 2 * std::numbers::pi * hz);
    const Complex behind = 1.0 / (jw * d.input_coupling_f) + d.grid_leak_ohm;
    const Complex expected = 1.0 / (jw * d.source_f + 1.0 / behind);
    for (const double source_ohm : {0.0, 47e3}) {
      d.source_ohm = source_ohm;
      const LinearResponse r = LinearNetwork(d, rest_of(100)).from_input(hz);
      CHECK(std::abs(r.input_ohm - expected) < 1e-9 * std::abs(expected));
      CHECK(within_ratio((1.0 / r.grid_siemens).real(), d.grid_leak_ohm, 1e-9));
    }
  }
}

TEST_CASE("an input capacitor makes its corner with leak and source") {
  const Tube tube = tube_of(100, 62.5e3);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.source_ohm = 47e3;
  d.input_coupling_f = 10e-9;
  d.grid_leak_ohm = 470e3;
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest_of(100), frequency_part::all_but_curves, f));
  REQUIRE(f.low_corner_hz[0]);
  CHECK(within_ratio(*f.low_corner_hz[0], corner_hz(10e-9, 470e3 + 47e3), 1e-7));
}

TEST_CASE("a cathode bypass makes the corner of the closed formula, wholly and partly bypassed") {
  // f = sqrt((1/Rk + g)^2 - 2/Rk^2) / (2 pi Ck), g = (mu + 1) / (rp + R). A bare part Ru in series with the
  // cathode adds (mu + 1) Ru to rp.
  const double mu = 100, rp = 62.5e3, R = parallel(100e3, 330e3);
  const Tube tube = tube_of(mu, rp);
  for (const double bare : {0.0, 300.0}) {
    Design d = gain_stage(tube, 100e3, 330e3, 1500 + bare);
    d.cathode_unbypassed_ohm = bare;
    d.cathode_bypass_f = 22e-6;
    const double g = (mu + 1) / (rp + (mu + 1) * bare + R), s = 1 / 1500.0 + g;
    const double power = s * s - 2 / (1500.0 * 1500.0);
    FrequencyFigures f;
    REQUIRE(frequency_figures(d, rest_of(mu), frequency_part::all_but_curves, f));
    if (power > 0) {
      REQUIRE(f.low_corner_hz[0]);
      CHECK(within_ratio(*f.low_corner_hz[0], std::sqrt(power) / (2 * std::numbers::pi * 22e-6), 1e-7));
    } else {
      CHECK_FALSE(f.low_corner_hz[0]);  // the bare part leaves less than 3 dB to lose
    }
    // gains with and without the capacitor: -mu R / (rp + R + (mu + 1) Rk), Rk what is not bypassed
    const Pair mid = mid_band_gain(d, rest_of(mu));
    CHECK(within_ratio(mid[0], -mu * R / (rp + R + (mu + 1) * bare), 1e-9));
    const LinearResponse dc = LinearNetwork(d, rest_of(mu)).from_input(1e-6);
    CHECK(within_ratio(dc.output[0].real(), -mu * R / (rp + R + (mu + 1) * d.cathode_ohm), 1e-6));
  }
}

TEST_CASE("ripple of a gain stage divides between plate resistor and tube") {
  // rp' / (rp' + Ra) without load, rp' = rp bypassed, rp + (mu + 1) Rk unbypassed
  const double mu = 100, rp = 62.5e3;
  const Tube tube = tube_of(mu, rp);
  Design d = gain_stage(tube, 100e3, 1e12, 1500);
  for (const double bare : {0.0, 1500.0}) {
    d.cathode_unbypassed_ohm = bare;
    FrequencyFigures f;
    REQUIRE(frequency_figures(d, rest_of(mu), frequency_part::all_but_curves, f));
    const double through = rp + (mu + 1) * bare;
    CHECK(within_ratio(f.ripple_v_per_v[0], through / (through + 100e3), 1e-6));
  }
}

TEST_CASE("ripple of unequal loads and of unequal tubes is that of the closed formulas") {
  // P1 - P2 = r (R2 - R1) / D, D = R1 R2 + (R1 + R2)((mu + 1) Rt + r) + 2 (mu + 1) r Rt + r^2
  const double mu = 100, r = 62.5e3, Rt = 68e3;
  const Tube tube = tube_of(mu, r);
  Design d = direct_pair(tube, 100e3, 1e18, Rt);  // no load: the formula has none
  d.plate_ohm = {82e3, 120e3};
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest_of(mu), frequency_part::all_but_curves, f));
  const double R1 = 82e3, R2 = 120e3;
  const double D = R1 * R2 + (R1 + R2) * ((mu + 1) * Rt + r) + 2 * (mu + 1) * r * Rt + r * r;
  CHECK(within_ratio(f.ripple_difference_v_per_v, r * (R2 - R1) / D, 1e-8));

  // mu 100 and 90, r 62.5k and 75k, R 100k: the difference is 6 % of the ripple, with 68k and with a sink
  const Tube other = tube_of(90, 75e3);
  d.tube = {&tube, &other};
  d.plate_ohm = {100e3, 100e3};
  REQUIRE(frequency_figures(d, rest_of(100, 90), frequency_part::all_but_curves, f));
  CHECK(within(f.ripple_difference_v_per_v, 0.06, 0.005));
  d.tail.form = TailForm::constant_current;
  d.tail.output_ohm = 1e12;
  REQUIRE(frequency_figures(d, rest_of(100, 90), frequency_part::all_but_curves, f));
  CHECK(within(f.ripple_difference_v_per_v, 0.06, 0.005));
}

TEST_CASE("a dropping resistor and a reservoir divide the ripple before the stage does") {
  // supply = e / (1 + Rd (1 / (Ra + rp || RL) + j omega C)), then rp || RL over Ra + rp || RL
  const double rp = 62.5e3, Ra = 100e3, RL = 330e3, Rd = 22e3;
  const Tube tube = tube_of(100, rp);
  Design d = gain_stage(tube, Ra, RL, 1500);
  d.main_supply_v = 350;
  d.dropping_ohm = Rd;
  d.reservoir_f = 10e-6;
  const double lower = parallel(rp, RL), hz = FrequencyFigures::kRipple_hz;
  const Complex supply =
      1.0 / (1.0 + Rd * Complex(1 / (Ra + lower), 2 * std::numbers::pi * hz * d.reservoir_f));
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest_of(100), frequency_part::all_but_curves, f));
  CHECK(within_ratio(f.ripple_v_per_v[0], std::abs(supply) * lower / (Ra + lower), 1e-9));

  // far below its corner the reservoir lets the plate load grow by Rd: -mu (Ra + Rd || ...) is no one-liner,
  // so the load seen by the plate is written out: RL || (Ra + Rd)
  const double load = parallel(Ra + Rd, RL);
  const LinearResponse slow = LinearNetwork(d, rest_of(100)).from_input(1e-6);
  CHECK(within_ratio(slow.output[0].real(), -100 * load / (rp + load), 1e-6));

  d.reservoir_f = 0;  // not given: holds the supply still
  REQUIRE(frequency_figures(d, rest_of(100), frequency_part::all_but_curves, f));
  CHECK(f.ripple_v_per_v[0] == 0);
}

TEST_CASE("a conducting grid loads its source by the slope of its current") {
  Tube tube = tube_of(100, 62.5e3);
  tube.grid_diode = grid_diode(-0.9);
  OperatingPoint rest = rest_of(100);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  const double slope = TriodeSection{&tube, &tube.law(), {}}.currents_at(-1, 200).grid_per_grid_s;
  REQUIRE(slope > 1e-7);
  const LinearResponse r = LinearNetwork(d, rest).from_input(1e3);
  CHECK(within_ratio(r.input_ohm.real(), 1 / (slope + 1 / d.grid_leak_ohm), 1e-9));
}
