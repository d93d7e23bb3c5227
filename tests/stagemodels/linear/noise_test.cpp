// Noise against formulas worked by hand: Nyquist's 4kTR, kT/C, and R_eq = 2.5/gm.
#include "stagemodels/linear/noise.h"

#include <doctest/doctest.h>

#include "stagemodels/linear/corners.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kFourKT = 4 * 1.380649e-23 * 300;  // J
constexpr double kBand_hz = 20e3 - 20;

/// A stage whose tube is cut off: resistors only.
struct DeadStage {
  Tube tube = tube_of(100, 62.5e3);
  Design design = gain_stage(tube, 100e3, 330e3, 1500);
  OperatingPoint rest = rest_of(100);
  DeadStage() { rest.grid_to_cathode_v = {-1000, -1000}; }
};

}  // namespace

TEST_CASE("two resistors make the noise of both beside each other") {
  const DeadStage s;
  const NoiseDensity power = noise_power(LinearNetwork(s.design, s.rest));
  const double ohm = parallel(100e3, 330e3);
  CHECK(within_ratio(power.output[0], kFourKT * ohm * kBand_hz, 1e-9));
  CHECK(within_ratio(power.difference, power.output[0], 1e-12));
  // by hand: sqrt(1.6568e-20 * 76744 * 19980) = 5.04 uV
  CHECK(within_ratio(std::sqrt(power.output[0]), 5.04e-6, 0.001));
}

TEST_CASE("the sum over the band is converged to far better than 0.1 % wherever a corner lies") {
  // 4kTR fc (atan(f2/fc) - atan(f1/fc)) for a resistance R with a capacitance across it
  DeadStage s;
  const double ohm = parallel(100e3, 330e3);
  for (double corner = 0.1; corner < 3e6; corner *= 1.7) {
    s.design.load_f = 1 / (2 * std::numbers::pi * ohm * corner);
    const double expected = kFourKT * ohm * corner * (std::atan(20e3 / corner) - std::atan(20 / corner));
    CHECK(within_ratio(noise_power(LinearNetwork(s.design, s.rest)).output[0], expected, 1e-5));
  }
}

TEST_CASE("the sum over the band agrees with a fine trapezoid on whole stages") {
  RandomNumbers random{std::mt19937_64(7)};
  Tube tube = tube_of(60, 20e3);
  tube.capacitance = {1.5e-12, 2.2e-12, 0.5e-12, "GE 12AT7 data sheet, 1957"};
  for (int n = 0; n < 20; ++n) {
    Design d = any_stage(random, tube);
    d.coupling_f = random.log_between(1e-9, 1e-6);
    d.input_coupling_f = random.log_between(100e-12, 100e-9);
    d.grid_bypass_f = random.log_between(1e-9, 1e-6);
    d.cathode_bypass_f = random.log_between(100e-9, 100e-6);
    const LinearNetwork network(d, rest_of(60));
    constexpr int kSteps = 4000;
    const double step = std::log(20e3 / 20) / kSteps;
    Pair sum{};
    double difference = 0;
    for (int k = 0; k <= kSteps; ++k) {
      const double hz = 20 * std::exp(k * step), weight = (k == 0 || k == kSteps ? 0.5 : 1) * step * hz;
      const NoiseDensity here = noise_density(network, hz);
      for (int i = 0; i < 2; ++i) sum[i] += weight * here.output[i];
      difference += weight * here.difference;
    }
    const NoiseDensity power = noise_power(network);
    for (int i = 0; i < network.outputs(); ++i) CHECK(within_ratio(power.output[i], sum[i], 1e-4));
    CHECK(within_ratio(power.difference, difference, 1e-4));
  }
}

TEST_CASE("a bypassed stage shows its source, 2.5/gm and its resistors") {
  // S = A^2 4kT (Rs || Rg) (Rg beside Rs at the grid, so A counts from there) + Rout^2 4kT (2.5 gm + 1/Ra +
  // 1/RL)
  const double mu = 100, rp = 62.5e3, gm = mu / rp, Rs = 47e3;
  const Tube tube = tube_of(mu, rp);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.source_ohm = Rs;
  d.grid_leak_ohm = 1e6;
  const OperatingPoint rest = rest_of(mu);
  const double out_ohm = parallel(parallel(100e3, 330e3), rp), A = gm * out_ohm;
  const double expected =
      kFourKT * (A * A * parallel(Rs, 1e6) + out_ohm * out_ohm * (2.5 * gm + 1 / 100e3 + 1 / 330e3));
  const LinearNetwork network(d, rest);
  CHECK(within_ratio(noise_density(network, 1e3).output[0], expected, 1e-9));

  const NoiseFigures f = noise_figures(network, mid_band_gain(d, rest), 10);
  const double rms = std::sqrt(expected * kBand_hz);
  CHECK(within_ratio(f.output_v_rms[0], rms, 1e-9));
  CHECK(within_ratio(f.difference_v_rms, rms, 1e-9));
  CHECK(within(f.below_target_db[0], 20 * std::log10(10 / std::sqrt(2.0) / rms), 1e-9));
  CHECK(within(f.difference_below_target_db, f.below_target_db[0], 1e-9));
  CHECK(within_ratio(f.input_v_rms, rms / (A * 1e6 / (1e6 + Rs)), 1e-9));

  // a source without resistance: 2.5/gm and the resistors' part of it remain, 1.6 kilohm here, 0.7 uV in 20
  // kHz
  d.source_ohm = 0;
  const NoiseFigures bare = noise_figures(LinearNetwork(d, rest), mid_band_gain(d, rest), 10);
  const double r_eq = 2.5 / gm + (1 / 100e3 + 1 / 330e3) / (gm * gm);
  CHECK(within_ratio(bare.input_v_rms, std::sqrt(kFourKT * r_eq * kBand_hz), 1e-9));
}

TEST_CASE("an unbypassed cathode resistor adds its own noise and divides the tube's") {
  // Per ampere into the plate Z = R || (rp + (mu+1) Rk); a current from plate to cathode counts rp / (rp +
  // (mu+1) Rk) of that, and one into the cathode -(mu+1) Rk / (rp + (mu+1) Rk) of it, with the sign of the
  // plate's rise.
  const double mu = 20, rp = 7.7e3, gm = mu / rp, Rk = 2700, R = parallel(47e3, 150e3);
  const Tube tube = tube_of(mu, rp);
  Design d = gain_stage(tube, 47e3, 150e3, Rk);
  d.cathode_unbypassed_ohm = Rk;
  const double inner = rp + (mu + 1) * Rk, Z = parallel(R, inner);
  const double of_tube = Z * rp / inner, of_cathode = Z * (mu + 1) * Rk / inner;
  const double expected = kFourKT * (Z * Z / R + of_tube * of_tube * 2.5 * gm + of_cathode * of_cathode / Rk);
  CHECK(within_ratio(noise_density(LinearNetwork(d, rest_of(mu)), 1e3).output[0], expected, 1e-9));
}

TEST_CASE("in the difference of a pair both halves' noise counts and the tail's does not") {
  // Half circuit of the differential mode: a current from plate 1 to the cathode moves the difference by R ||
  // r, one into plate 1 likewise; equal halves, so the tail's own current moves both outputs alike.
  const double mu = 100, r = 62.5e3, gm = mu / r, R = parallel(100e3, 330e3);
  const Tube tube = tube_of(mu, r);
  for (const double tail : {10e3, 68e3}) {
    const Design d = direct_pair(tube, 100e3, 330e3, tail);
    const LinearNetwork network(d, rest_of(mu));
    const NoiseDensity s = noise_density(network, 1e3);
    const double half = parallel(R, r);
    CHECK(within_ratio(s.difference, 2 * kFourKT * half * half * (2.5 * gm + 1 / R), 1e-9));
    CHECK(s.output[0] + s.output[1] > 0.5 * s.difference);  // and more, by what is common to both

    // the target in antiphase is twice one output's
    const NoiseFigures f = noise_figures(network, mid_band_gain(d, rest_of(mu)), 20);
    CHECK(within(f.difference_below_target_db, 20 * std::log10(2 * 20 / std::sqrt(2.0) / f.difference_v_rms),
                 1e-9));
  }
}

TEST_CASE("a grid that conducts makes shot noise in what it sees") {
  // S at the grid = (2q Ig + 4kT (1/Rs + 1/Rg)) / (1/Rs + 1/Rg + dIg/dV)^2
  const double mu = 100, rp = 62.5e3, gm = mu / rp, Rs = 100e3;
  Tube tube = tube_of(mu, rp);
  tube.grid_diode = grid_diode(-0.9);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.source_ohm = Rs;
  const TriodeCurrents now = TriodeSection{&tube, &tube.law(), {}}.currents_at(-1, 200);
  REQUIRE(now.grid_a > 1e-8);
  const double y = 1 / Rs + 1 / d.grid_leak_ohm, out_ohm = parallel(parallel(100e3, 330e3), rp),
               A = gm * out_ohm;
  const double at_grid =
      (2 * 1.602176634e-19 * now.grid_a + kFourKT * y) / std::pow(y + now.grid_per_grid_s, 2);
  const double expected = A * A * at_grid + kFourKT * out_ohm * out_ohm * (2.5 * gm + 1 / 100e3 + 1 / 330e3);
  CHECK(within_ratio(noise_density(LinearNetwork(d, rest_of(mu)), 1e3).output[0], expected, 1e-9));
}

TEST_CASE("the transposed solution tells the same as the direct one") {
  // Reciprocity of the adjoint network: volts per ampere into the terminal, over the source's resistance, are
  // the response to the source.
  RandomNumbers random{std::mt19937_64(11)};
  Tube tube = tube_of(60, 20e3);
  tube.capacitance = {1.5e-12, 2.2e-12, 0.5e-12, "GE 12AT7 data sheet, 1957"};
  for (int n = 0; n < 100; ++n) {
    Design d = any_stage(random, tube);
    d.source_ohm = 10e3;
    d.coupling_f = 100e-9;
    d.input_coupling_f = 22e-9;
    d.grid_bypass_f = 100e-9;
    d.cathode_bypass_f = 22e-6;
    if (random.below(2)) {
      d.main_supply_v = 400;
      d.dropping_ohm = 10e3;
      d.reservoir_f = 10e-6;
    }
    const LinearNetwork network(d, rest_of(60));
    const Element* source = element_named(d, "source_resistance");
    REQUIRE(source);
    const auto terminal = static_cast<std::size_t>(source->b),
               supply = static_cast<std::size_t>(circuit_of(d).supply);
    const double hz = random.log_between(0.1, 1e6);
    const auto volts = network.to_outputs(hz);
    const LinearResponse r = network.from_input(hz), ripple = network.from_supply(hz);
    for (int i = 0; i < network.outputs(); ++i) {
      const auto through = volts[i][terminal] / d.source_ohm;
      CHECK(std::abs(through - r.output[i]) < 1e-9 * std::abs(r.output[i]));
      if (d.main_supply_v > 0) {
        // rounding is that of the volt that excites, ripple may be a millionth of it
        const auto down = volts[i][supply] / d.dropping_ohm;
        CHECK(std::abs(down - ripple.output[i]) < 1e-9 * std::abs(ripple.output[i]) + 1e-13);
      }
    }
  }
}
