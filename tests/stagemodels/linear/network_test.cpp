// Response, balance and ripple of the linearised stage against closed formulas.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/linear/network.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/random_stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

struct SolvedStage {
  Design design;
  Evaluation e;
  LinearNetwork network;
  explicit SolvedStage(const Design& d) : design(d), e(at(d)), network(design, e.operating_point) {}
  static Evaluation at(const Design& d) {
    Evaluation e;
    evaluate(d, Depth::everything, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    return e;
  }
};

}  // namespace

TEST_CASE("without capacitances the response is the small-signal gain at every frequency") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AU7), tube_with(kRsd2, -0.3)};
  for (const Tube& tube : tubes)
    for (BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
      const SolvedStage s(pair_of(tube, bias));
      for (double f : {1.0, 1e3, 1e6}) {
        const LinearResponse r = s.network.from_input(f);
        for (int i = 0; i < 2; ++i) {
          CHECK(within_ratio(r.output[i].real(), s.e.small_signal.gain[i], 1e-9));
          CHECK(std::abs(r.output[i].imag()) < 1e-12 * std::abs(r.output[i]));
        }
        // a directly coupled grid 2 hangs on grid 1 here, and takes a current that the mid-band figures leave
        // out
        if (s.e.small_signal.input_ohm > 0 && bias != BiasForm::direct_coupled) {
          CHECK(within_ratio(1 / r.grid_siemens.real(), s.e.small_signal.input_ohm, 1e-9));
          CHECK(within_ratio(r.input_ohm.real(), s.e.small_signal.input_ohm, 1e-9));
        }
      }
      CHECK_FALSE(s.e.frequency.low_corner_hz[0]);
      CHECK_FALSE(s.e.frequency.high_corner_hz[0]);
    }
}

TEST_CASE("a coupling capacitor sets the low corner with load and output impedance") {
  // f = 1 / (2 pi C (Rg + Zo)); only output 1 of a sink-fed pair, where Zo does not depend on the other's
  // load
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1500;
  d.swing_peak_v = 5;
  d.coupling_f = 22e-9;
  const SolvedStage s(d);
  const double expected =
      corner_hz(d.coupling_f, d.load_ohm + s.e.small_signal.output_impedance_alone_ohm[0]);
  REQUIRE(s.e.frequency.low_corner_hz[0]);
  CHECK(within_ratio(*s.e.frequency.low_corner_hz[0], expected, 1e-7));  // one pole: exact
}

TEST_CASE("load capacitance sets the high corner with output impedance beside the load") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1500;
  d.swing_peak_v = 5;
  d.load_f = 100e-12;
  const SolvedStage s(d);
  const double ohm = parallel(d.load_ohm, s.e.small_signal.output_impedance_alone_ohm[0]);
  REQUIRE(s.e.frequency.high_corner_hz[0]);
  CHECK(within_ratio(*s.e.frequency.high_corner_hz[0], corner_hz(d.load_f, ohm), 1e-7));
}

TEST_CASE("Miller capacitance loads a resistive source") {
  // Cin = Cgp (1 + |A1|) + Cgk (1 - kappa), at frequencies where the gain still stands
  Tube tube = tube_with(kKoren12AX7);
  tube.capacitance = {1.7e-12, 1.6e-12, 0.4e-12, "RCA 12AX7-A data sheet, 1960"};
  const SolvedStage s(pair_of(tube, BiasForm::negative_rail));
  const double f = 1e3;
  const double farad = s.network.from_input(f).grid_siemens.imag() / (2 * std::numbers::pi * f);
  const double expected =
      1.7e-12 * (1 + std::abs(s.e.small_signal.gain[0])) + 1.6e-12 * (1 - s.e.small_signal.cathode_gain);
  CHECK(within_ratio(farad, expected, 1e-3));
}

TEST_CASE(
    "a directly coupled grid 2 loses its bypass at the published corner and keeps the mid-band balance") {
  // x = 2 pi f Rg2 C2, D = G1 - G2: o1 = -(D + jx G1)/(1 + jx), o2 = (-D + jx G2)/(1 + jx), from the closed
  // solution of the pair with equal halves; grid 1 driven from a source without resistance.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.plate_ohm = {100e3, 100e3};
  d.grid_leak_ohm = 1e6;
  d.grid_bypass_f = 0.1e-6;
  const SolvedStage s(d);
  const double G1 = std::abs(s.e.small_signal.gain[0]), G2 = s.e.small_signal.gain[1], D = G1 - G2;
  for (double f : {0.3, 1.0, 1.592, 20.0}) {
    const std::complex<double> jx(0, 2 * std::numbers::pi * f * d.grid_leak_ohm * d.grid_bypass_f);
    const auto o1 = -(D + jx * G1) / (1.0 + jx), o2 = (-D + jx * G2) / (1.0 + jx);
    const LinearResponse r = s.network.from_input(f);
    CHECK(std::abs(r.output[0] - o1) < 1e-9 * std::abs(o1));
    CHECK(std::abs(r.output[1] - o2) < 1e-9 * std::abs(o2));
  }
}

TEST_CASE("the bypass of a self-biased pair follows the bootstrapped leak") {
  // v2/v1 = h/(1 - h + jx); (v1 - v2)/v1 = (1 - 2h + jx)/(1 - h + jx), h = rho kc / 2, equal halves, leaks
  // large beside the tail; outputs move with v1 - v2 but for the common part.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.plate_ohm = {100e3, 100e3};
  d.grid_leak_ohm = 10e6;
  d.grid_bypass_f = 0.01e-6;
  const SolvedStage s(d);
  const OperatingPoint& o = s.e.operating_point;
  const double mu = o.mu[0], r = o.rp_ohm[0], R = parallel(100e3, d.load_ohm), Rt = d.bias.ohm + d.tail.ohm;
  const double h = d.tail.ohm / Rt * mu * Rt / (r + R + 2 * (mu + 1) * Rt);
  const double G = mu * R / (r + R);  // of the difference v1 - v2, to output 2 minus output 1
  for (double f : {0.3, 0.84, 5.0}) {
    const std::complex<double> jx(0, 2 * std::numbers::pi * f * d.grid_leak_ohm * d.grid_bypass_f);
    const auto expected = G * (1 - 2 * h + jx) / (1 - h + jx);
    const LinearResponse out = s.network.from_input(f);
    CHECK(std::abs((out.output[1] - out.output[0]) - expected) <
          0.01 * std::abs(expected));  // tail / leak = 0.5 %
  }
}

TEST_CASE("ripple follows the closed formula and cancels between equal halves") {
  // both plates follow e (r + 2 (mu+1) Rt) / (r + R + 2 (mu+1) Rt), e scaled by Rg / (Ra + Rg)
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.plate_ohm = {100e3, 100e3};
  const SolvedStage s(d);
  const OperatingPoint& o = s.e.operating_point;
  const double R = parallel(100e3, d.load_ohm), scale = d.load_ohm / (100e3 + d.load_ohm);
  const double through = o.rp_ohm[0] + 2 * (o.mu[0] + 1) * d.tail.ohm;
  CHECK(within_ratio(s.e.frequency.ripple_v_per_v[0], scale * through / (through + R), 1e-9));
  CHECK(s.e.frequency.ripple_difference_v_per_v < 1e-9);
}

TEST_CASE("ripple of unequal sections and loads follows from three node equations") {
  // i = (e - (mu + 1) K) / (r + R) in each section, K = Rt (i1 + i2), P = e - R i: solved for K by hand.
  const Tube one = tube_with(kKoren12AX7), two = tube_with(kKoren12AT7);
  Design d = pair_of(one, BiasForm::direct_coupled);
  d.tube = {&one, &two};
  d.plate_ohm = {100e3, 130e3};
  d.load_ohm = 1e12;
  const SolvedStage s(d);
  const OperatingPoint& o = s.e.operating_point;
  double sum = 0, feedback = 0;
  for (int i = 0; i < 2; ++i) {
    sum += 1 / (o.rp_ohm[i] + d.plate_ohm[i]);
    feedback += (o.mu[i] + 1) / (o.rp_ohm[i] + d.plate_ohm[i]);
  }
  const double K = d.tail.ohm * sum / (1 + d.tail.ohm * feedback);
  double P[2];
  for (int i = 0; i < 2; ++i)
    P[i] = 1 - d.plate_ohm[i] * (1 - (o.mu[i] + 1) * K) / (o.rp_ohm[i] + d.plate_ohm[i]);
  CHECK(within_ratio(s.e.frequency.ripple_v_per_v[0], std::abs(P[0]), 1e-6));
  CHECK(within_ratio(s.e.frequency.ripple_v_per_v[1], std::abs(P[1]), 1e-6));
  CHECK(within_ratio(s.e.frequency.ripple_difference_v_per_v, std::abs(P[0] - P[1]), 1e-5));
}

TEST_CASE("the equations have room for every circuit in all its forms") {
  for (const CircuitEntry& entry : circuits())
    for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
      for (const TailForm tail : {TailForm::resistor, TailForm::constant_current})
        for (const bool feedback : {false, true}) {
          const Circuit c = entry.describe({bias, tail, feedback});
          int known = 1;  // ground
          std::vector<bool> held(static_cast<std::size_t>(c.nodes));
          for (const Element& e : c)
            if (e.kind == ElementKind::held || e.kind == ElementKind::driven)
              held[static_cast<std::size_t>(e.a)] = true;
          if (c.feedback != kNoNode) held[static_cast<std::size_t>(c.feedback)] = true;
          for (const bool h : held) known += h ? 1 : 0;
          INFO(std::string(entry.name));
          CHECK(c.nodes - known <= NodalMatrix::kMost);
        }
}

TEST_CASE("at mid-band the network's gain is that of the cycle at small drive, in every circuit") {
  // Two ways to the same derivative: the equations of the cycle know no capacitances and are written or
  // derived apart from the nodal ones.
  RandomStages stages(31);
  RandomNumbers random{std::mt19937_64(32)};
  for (const CircuitEntry& entry : circuits()) {
    int seen = 0;
    for (int n = 0; n < 300; ++n) {
      Design d = stages.draw();
      d.circuit = entry.kind;
      FirstStage& first = d.first_stage;
      first.tube = d.tube[0];
      first.plate_ohm = d.plate_ohm[0] * random.between(0.6, 2);
      first.cathode_ohm = d.cathode_ohm * random.between(0.6, 2);
      first.cathode_unbypassed_ohm = random.below(3) * 0.5 * first.cathode_ohm;
      first.grid_leak_ohm = random.log_between(220e3, 2.2e6);
      d.feedback.given = random.below(2) == 0;
      d.coupling_f = random.log_between(1e-9, 1e-6);
      d.load_f = 100e-12;
      Evaluation e;
      evaluate(d, Depth::small_signal, e);
      if (e.operating_point.solved != Solved::yes) continue;
      ++seen;
      d.source_ohm = 0;  // the gain counts from the driven grid
      const LinearResponse r =
          LinearNetwork(d, e.operating_point, LinearNetwork::Capacitances::mid_band).from_input(1e3);
      for (int i = 0; i < outputs(entry.kind); ++i) {
        INFO(std::string(entry.name), " ", n);
        CHECK(within_ratio(r.output[i].real(), e.small_signal.gain[i], 1e-9));
        CHECK(r.output[i].imag() == 0);
      }
    }
    CHECK(seen > 100);
  }
}
