// A gain stage and the split load behind it against the closed formulas of both (F. Langford-Smith, Radiotron
// Designer's Handbook, 4th ed., 1953, from memory; derived here and in split_load_test.cpp). Published values
// of two such circuits: published/phase_inverter_test.cpp.
//
// The first section obeys rp1 i1 = mu1 v - (mu1 + 1) vk1 + vp1. With a bare part Ru of its cathode resistor
// and R1' at its plate its gain is mu1 R1' / (rp1 + R1' + (mu1 + 1) Ru), and its plate has the impedance
// R1 || (rp1 + (mu1 + 1) Ru) = Z1.
// Directly coupled, R1' = R1 and the splitter is that of split_load_test.cpp. Through a capacitor the
// splitter's leak Rg rides on the joint s below its bias resistor Rb and takes (1 - j) / Rg per volt, j being
// the joint's signal per volt at the grid, so that R1' = R1 || Rg / (1 - j).
// Output impedances, source at rest: what comes through the leak puts the grid at vg = l vs with
// l = Z1 / (Z1 + Rg). Currents i1 into the plate and i2 into the joint, Zs = R || (Rg + Z1):
//   i (rp + R + (mu + 1) Rb + (mu + 1 - mu l) Zs) = R i1 - (mu + 1 - mu l) Zs i2,
//   vp = R (i1 - i), vs = (i + i2) Zs.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kRounding = 1e-9;  // both sides are exact

double parallel(double a, double b) {
  return a * b / (a + b);
}

struct Drawn {
  Tube tubes[3] = {tube_with(kKoren12AU7), tube_with(kKoren12AT7), tube_with(kKoren12AX7)};
  RandomNumbers random{std::mt19937_64(17)};
  Design draw(BiasForm bias) {
    Design d;
    d.circuit = CircuitKind::gain_and_split_load;
    d.tube = {&tubes[random.below(2)], nullptr};
    d.supply_v = random.between(250, 420);
    d.plate_ohm[0] = d.plate_ohm[1] = random.log_between(15e3, 68e3);
    d.bias.form = bias;
    d.bias.ohm = random.log_between(500, 4e3);
    d.grid_leak_ohm = random.log_between(220e3, 2e6);
    d.load_ohm = random.log_between(100e3, 1e6);
    d.swing_peak_v = 5;
    FirstStage& f = d.first_stage;
    f.tube = &tubes[random.below(3)];
    f.plate_ohm = random.log_between(68e3, 330e3);
    // Directly coupled, the plate has to stand low enough for the splitter.
    f.cathode_ohm =
        bias == BiasForm::direct_coupled ? random.log_between(150, 1.5e3) : random.log_between(680, 4.7e3);
    f.cathode_unbypassed_ohm = random.below(3) * 0.5 * f.cathode_ohm;
    if (random.below(2)) f.decoupling_ohm = 22e3;  // its node stands still for the signal
    return d;
  }
};

bool works(const OperatingPoint& o) {
  return o.solved == Solved::yes && o.plate_current_a[0] > 50e-6 && o.grid_to_cathode_v[0] < -0.6 &&
         o.plate_to_cathode_v[0] > 20 && o.first.plate_current_a > 50e-6 &&
         o.first.grid_to_cathode_v < -0.6 && o.first.plate_to_cathode_v > 20;
}

/// The splitter as a two-port, its grid fed through its leak only.
struct Splitter {
  double mu, r, R, Rb, Rg, Z1;
  double follows() const { return mu + 1 - (std::isfinite(Rg) ? mu * Z1 / (Z1 + Rg) : 0); }
  double joint_ohm() const { return std::isfinite(Rg) ? parallel(R, Rg + Z1) : R; }
  double current(double i1, double i2) const {
    return (R * i1 - follows() * joint_ohm() * i2) / (r + R + (mu + 1) * Rb + follows() * joint_ohm());
  }
  double plate_v(double i1, double i2) const { return R * (i1 - current(i1, i2)); }
  double joint_v(double i1, double i2) const { return joint_ohm() * (current(i1, i2) + i2); }
};

void check_impedances(const SmallSignal& s, const Splitter& p) {
  CHECK(within_ratio(s.output_impedance_alone_ohm[0], p.plate_v(1, 0), kRounding));
  CHECK(within_ratio(s.output_impedance_alone_ohm[1], p.joint_v(0, 1), kRounding));
  CHECK(within_ratio(s.output_impedance_differential_ohm[0], p.plate_v(1, -1), kRounding));
  CHECK(within_ratio(s.output_impedance_differential_ohm[1], -p.joint_v(1, -1), kRounding));
}

}  // namespace

TEST_CASE("a first stage and the split load on its plate have the product of the handbook's gains") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = drawn.draw(BiasForm::direct_coupled);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double mu = o.mu[0], r = o.rp_ohm[0], R = d.plate_ohm[0], Z = parallel(R, d.load_ohm);
    const double Ru = d.first_stage.cathode_unbypassed_ohm, R1 = d.first_stage.plate_ohm;
    const double through = o.first.rp_ohm + (o.first.mu + 1) * Ru;
    const double first = o.first.mu * R1 / (R1 + through);
    const SmallSignal& s = e.small_signal;
    const double splitter = mu * Z / (r + (mu + 2) * Z);
    CHECK(within_ratio(s.first_stage_gain, -first, kRounding));
    CHECK(within_ratio(s.gain[0], first * splitter, kRounding));
    CHECK(within_ratio(s.gain[1], -first * splitter, kRounding));
    CHECK(within(s.balance_pct, 0, 100 * kRounding));
    check_impedances(s, {mu, r, R, 0, INFINITY, parallel(R1, through)});
    CHECK(within(o.grid_v[0], o.first.plate_v, 1e-9));
  }
  CHECK(solved > 80);
}

TEST_CASE(
    "through a capacitor the first plate sees the splitter's leak as far as the joint does not follow") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = drawn.draw(BiasForm::self_biased);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double mu = o.mu[0], r = o.rp_ohm[0], R = d.plate_ohm[0], Rb = d.bias.ohm, Rg = d.grid_leak_ohm;
    const double Z = parallel(R, d.load_ohm), Zs = parallel(Z, Rg);
    const double i = (mu - (mu + 1) * Zs / Rg) / (r + Z + (mu + 1) * (Rb + Zs)), j = (i + 1 / Rg) * Zs;
    const double Ru = d.first_stage.cathode_unbypassed_ohm, R1 = d.first_stage.plate_ohm;
    const double through = o.first.rp_ohm + (o.first.mu + 1) * Ru, into = parallel(R1, Rg / (1 - j));
    const double first = o.first.mu * into / (into + through);
    const SmallSignal& s = e.small_signal;
    CHECK(within_ratio(s.first_stage_gain, -first, kRounding));
    CHECK(within_ratio(s.gain[0], first * i * Z, kRounding));
    CHECK(within_ratio(s.gain[1], -first * j, kRounding));
    check_impedances(s, {mu, r, R, Rb, Rg, parallel(R1, through)});
  }
  CHECK(solved > 120);
}

TEST_CASE("coupled directly, the split load rests where the same one on a given grid voltage does") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 100; ++n) {
    Design d = drawn.draw(BiasForm::direct_coupled);
    Evaluation e, alone;
    evaluate(d, Depth::rest, e);
    if (!works(e.operating_point)) continue;
    ++solved;
    d.circuit = CircuitKind::split_load;
    d.bias.grid_v = e.operating_point.first.plate_v;
    evaluate(d, Depth::rest, alone);
    REQUIRE(alone.operating_point.solved == Solved::yes);
    // Both to a nanovolt, and the grid takes nothing.
    CHECK(within(e.operating_point.plate_v[0], alone.operating_point.plate_v[0], 1e-6));
    CHECK(within(e.operating_point.cathode_v, alone.operating_point.cathode_v, 1e-6));
    CHECK(within_ratio(e.operating_point.supply_current_a,
                       alone.operating_point.supply_current_a + e.operating_point.first.plate_current_a,
                       1e-9));
  }
  CHECK(solved > 25);
}
