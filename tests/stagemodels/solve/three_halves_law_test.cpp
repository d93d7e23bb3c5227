// Large-signal steady state against closed forms of the three-halves law.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kCurrent_a = 1e-3, kPlate_ohm = 64.1e3, kMu = 100;

/// A law whose plate resistance is kPlate_ohm at kCurrent_a: gm = 1.5 I / V0, rp = mu / gm.
ChildLangmuir law_with(double& V0) {
  V0 = 1.5 * kCurrent_a * kPlate_ohm / kMu;
  return {kCurrent_a / std::pow(V0, 1.5), kMu, 0};
}

}  // namespace

TEST_CASE("the ideal pair on a constant current shows the third harmonic of the closed transfer curve") {
  // v / V0 = (1+y)^(2/3) - (1-y)^(2/3) + (4/3) q y, y = (i - I) / I, q = R / rp, v from grid to grid.
  // Third harmonic by exact evaluation of that curve (per cent), as tabulated with the law's closed forms for
  // m = fundamental of the current over I.
  struct Case {
    double ohm, m, h3_pct;
  };
  const Case cases[] = {{50e3, 0.25, 0.0668},  {50e3, 0.5, 0.292},  {50e3, 0.75, 0.788},
                        {100e3, 0.25, 0.0465}, {100e3, 0.5, 0.204}, {100e3, 0.75, 0.556}};
  double V0 = 0;
  const Tube tube = tube_with(law_with(V0), 5);
  for (const Case& c : cases) {
    Design d = pair_of(tube, BiasForm::direct_coupled, TailForm::constant_current);
    d.supply_v = 600;
    d.plate_ohm = {c.ohm, c.ohm};
    d.bias.grid_v = 50;
    d.tail.current_a = 2 * kCurrent_a;
    d.tail.output_ohm = 1e12;
    d.load_ohm = 1e12;
    d.swing_peak_v = c.m * kCurrent_a * c.ohm;
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    const SteadyState& s = e.at_target;
    REQUIRE(s.solved == Solved::yes);
    // at every instant drive and current satisfy the curve; the sink's 1e12 ohm takes some tenths of a
    // nanoampere
    const double q = c.ohm / kPlate_ohm;
    for (int k = 0; k < e.waveforms.instants; ++k) {
      const double y = e.waveforms.plate_current_a[0][k] / kCurrent_a - 1;
      const double v = V0 * (std::pow(1 + y, 2.0 / 3) - std::pow(1 - y, 2.0 / 3) + 4.0 / 3 * q * y);
      CHECK(within(v, s.input_peak_v * e.waveforms.drive[k], 1e-5));
    }
    CHECK(within_ratio(s.harmonic_pct(0, 3), c.h3_pct, 0.01));  // the table has three digits
    // mirror images: no even harmonics in either output
    CHECK(s.harmonic_pct(0, 2) < 1e-4);
    CHECK(s.harmonic_pct(1, 4) < 1e-4);
    CHECK(std::abs(s.balance_pct) < 1e-4);
  }
}

TEST_CASE("a single stage with a bypassed cathode follows its closed transfer curve") {
  // v / V0 = (1+y)^(2/3) - 1 + (2/3) q y; small-signal second harmonic m / (12 (1 + q)).
  double V0 = 0;
  const Tube tube = tube_with(law_with(V0), 5);
  Design d = pair_of(tube);
  d.circuit = CircuitKind::common_cathode;
  d.supply_v = 300;
  d.plate_ohm = {100e3, 0};
  d.load_ohm = 1e12;
  // rest: vgk = V0 - vpk / mu at kCurrent_a
  const double vpk_and_k = d.supply_v - kCurrent_a * 100e3;  // plate to ground
  // vk = I Rk, vpk = plate - vk, -vk = V0 - (plate - vk) / mu
  const double vk = (vpk_and_k / kMu - V0) / (1 + 1 / kMu);
  d.cathode_ohm = vk / kCurrent_a;
  REQUIRE(d.cathode_ohm > 0);
  const double q = 100e3 / kPlate_ohm;
  for (double m : {0.05, 0.1}) {
    const double v = V0 * (std::pow(1 + m, 2.0 / 3) - 1 + 2.0 / 3 * q * m);
    const SteadyState s = steady_state_at_drive(d, v, nullptr);
    REQUIRE(s.solved == Solved::yes);
    // the formula is the first term of a series in m: next terms are of relative size m^2
    CHECK(within_ratio(s.harmonic_pct(0, 2), 100 * m / (12 * (1 + q)), 0.05));
  }
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  CHECK(within_ratio(e.operating_point.plate_current_a[0], kCurrent_a, 1e-9));
  CHECK(within_ratio(e.small_signal.gain[0], -kMu * 100e3 / (100e3 + kPlate_ohm), 1e-6));
}

TEST_CASE("the pair's third harmonic follows from one stage's harmonics") {
  // HD3 of the pair = | c3 - 2 HD2^2 | of one stage at the same output and DC point, c3 signed.
  // Checked for 12AX7-like laws at 300 V / 100 k, 1 mA, 20 V rms within 10 % (published relation).
  const Tube tube = tube_with(Koren1996{99.95, 1.431, 1659.3, 688.57, 284.1, 0.5}, 5);
  Design pair = pair_of(tube, BiasForm::direct_coupled, TailForm::constant_current);
  pair.supply_v = 300;
  pair.plate_ohm = {100e3, 100e3};
  pair.load_ohm = 1e12;
  pair.bias.grid_v = 0;
  pair.tail = {TailForm::constant_current, 0, 2e-3, 1e12, 0};
  pair.swing_peak_v = 20 * std::sqrt(2.0);
  Evaluation e;
  evaluate(pair, Depth::at_target, e);
  REQUIRE(e.at_target.solved == Solved::yes);

  Design single = pair;
  single.circuit = CircuitKind::common_cathode;
  // same point with respect to the cathode
  single.supply_v = pair.supply_v;
  single.cathode_ohm = e.operating_point.cathode_v / 1e-3;
  Evaluation f;
  evaluate(single, Depth::at_target, f);
  REQUIRE(f.at_target.solved == Solved::yes);
  REQUIRE(within_ratio(f.operating_point.plate_current_a[0], e.operating_point.plate_current_a[0], 1e-3));
  const auto& c = f.at_target.harmonic_v[0];
  const double h2 = c[2] / c[1], h3 = c[3] / c[1];
  CHECK(within_ratio(e.at_target.harmonic_pct(0, 3), 100 * std::abs(h3 - 2 * h2 * h2), 0.1));
}
