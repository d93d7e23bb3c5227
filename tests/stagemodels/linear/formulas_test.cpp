// The linearised stage against closed formulas and their worked examples.
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

double degrees_off(const LinearResponse& r) {
  return std::abs(std::arg(-r.output[0] / r.output[1])) * 180 / std::numbers::pi;
}

}  // namespace

TEST_CASE("a directly coupled pair loses its grid bypass as the worked example says") {
  // mu 100, r 65k, R 100k beside 330k, tail 68k, leak 1M, 0.1 uF (1.592 Hz): sizes at 1 Hz 14.557 and 14.263,
  // at 20 Hz 27.262 and 26.710; off opposite by 3.7 and 0.19 degrees. Printed to 5 and 2 digits.
  const Tube tube = tube_of(100, 65e3);
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  d.grid_leak_ohm = 1e6;
  d.grid_bypass_f = 0.1e-6;
  const LinearNetwork network(d, rest_of(100));
  const LinearResponse low = network.from_input(1), high = network.from_input(20);
  CHECK(within_ratio(std::abs(low.output[0]), 14.557, 0.002));
  CHECK(within_ratio(std::abs(low.output[1]), 14.263, 0.002));
  CHECK(within_ratio(std::abs(high.output[0]), 27.262, 0.002));
  CHECK(within_ratio(std::abs(high.output[1]), 26.710, 0.002));
  CHECK(within(degrees_off(low), 3.7, 0.05));
  CHECK(within(degrees_off(high), 0.19, 0.005));
  // the ratio of the sizes is that of mid-band, at 1 Hz to the few parts in a thousand that the phase leaves
  CHECK(within_ratio(std::abs(low.output[0] / low.output[1]), 27.262 / 26.710, 0.002));
}

TEST_CASE("a self-biased pair follows the worked example of its bootstrapped leaks") {
  // 10k + 470, leaks 1M, 0.1 uF, mu 100, r 65k, R 100k beside 330k: h = 0.443, input 1.796M, |v1 - v2| 0.704
  // of v1 at 0.84 Hz, output ratio 1.134 at mid-band, 1.18 at 0.84 Hz, 1.45 at 0.3 Hz. Printed to 3 and 4
  // digits. The leaks' own load on the tail, 10k / 1M, is what the formula leaves out.
  const Tube tube = tube_of(100, 65e3);
  Design d = direct_pair(tube, 100e3, 330e3, 10e3);
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 470;
  d.grid_leak_ohm = 1e6;
  d.grid_bypass_f = 0.1e-6;
  const OperatingPoint rest = rest_of(100);
  const LinearNetwork network(d, rest);
  const auto ratio = [&](double hz) {
    const LinearResponse r = network.from_input(hz);
    return std::abs(r.output[0] / r.output[1]);
  };
  const Pair mid = mid_band_gain(d, rest);
  CHECK(within(-mid[0] / mid[1], 1.134, 0.0005));
  CHECK(within(ratio(0.84), 1.18, 0.005));
  CHECK(within(ratio(0.3), 1.45, 0.005));
  // the difference of the outputs moves with v1 - v2
  const LinearResponse r = network.from_input(0.84);
  CHECK(within_ratio(std::abs((r.output[0] - r.output[1]) / (mid[0] - mid[1])), 0.704, 0.003));
  CHECK(within_ratio(network.from_input(1e3).input_ohm.real(), 1.796e6, 0.002));
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

TEST_CASE("input capacitance and the corner it makes with a first stage are those of the worked example") {
  // ECC83 as T2 of the acceptance table (A1 27.834, kappa 0.4901), Cgp 1.7 pF, Cgk 1.6 pF, 5 pF strays: 55
  // pF, and -3 dB at 73 kHz from 40k. Printed to 2 digits.
  Tube tube = tube_of(100, 62.5e3);
  tube.capacitance = {1.7e-12, 1.6e-12, 0, "RCA 12AX7-A data sheet, 1960"};
  Design d = direct_pair(tube, 100e3, 330e3, 68e3);
  d.source_ohm = 40e3;
  d.source_f = 5e-12;
  FrequencyFigures f;
  REQUIRE(frequency_figures(d, rest_of(100), false, f));
  CHECK(within_ratio(f.input_f, 1.7e-12 * (1 + 27.834) + 1.6e-12 * (1 - 0.4901), 0.002));
  CHECK(within(f.input_f + d.source_f, 55e-12, 0.5e-12));
  REQUIRE(f.high_corner_hz[0]);
  // the outputs' own 1.7 pF move it down by some per cent
  CHECK(within(*f.high_corner_hz[0], 73e3, 3e3));
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
  REQUIRE(frequency_figures(d, rest_of(100), false, f));
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
    REQUIRE(frequency_figures(d, rest_of(mu), false, f));
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
    REQUIRE(frequency_figures(d, rest_of(mu), false, f));
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
  REQUIRE(frequency_figures(d, rest_of(mu), false, f));
  const double R1 = 82e3, R2 = 120e3;
  const double D = R1 * R2 + (R1 + R2) * ((mu + 1) * Rt + r) + 2 * (mu + 1) * r * Rt + r * r;
  CHECK(within_ratio(f.ripple_difference_v_per_v, r * (R2 - R1) / D, 1e-8));

  // mu 100 and 90, r 62.5k and 75k, R 100k: the difference is 6 % of the ripple, with 68k and with a sink
  const Tube other = tube_of(90, 75e3);
  d.tube = {&tube, &other};
  d.plate_ohm = {100e3, 100e3};
  REQUIRE(frequency_figures(d, rest_of(100, 90), false, f));
  CHECK(within(f.ripple_difference_v_per_v, 0.06, 0.005));
  d.tail.form = TailForm::constant_current;
  d.tail.output_ohm = 1e12;
  REQUIRE(frequency_figures(d, rest_of(100, 90), false, f));
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
  REQUIRE(frequency_figures(d, rest_of(100), false, f));
  CHECK(within_ratio(f.ripple_v_per_v[0], std::abs(supply) * lower / (Ra + lower), 1e-9));

  // far below its corner the reservoir lets the plate load grow by Rd: -mu (Ra + Rd || ...) is no one-liner,
  // so the load seen by the plate is written out: RL || (Ra + Rd)
  const double load = parallel(Ra + Rd, RL);
  const LinearResponse slow = LinearNetwork(d, rest_of(100)).from_input(1e-6);
  CHECK(within_ratio(slow.output[0].real(), -100 * load / (rp + load), 1e-6));

  d.reservoir_f = 0;  // not given: holds the supply still
  REQUIRE(frequency_figures(d, rest_of(100), false, f));
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
