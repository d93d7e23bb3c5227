// The paraphase and the one that balances itself against closed formulas and Kirchhoff's law (F.
// Langford-Smith, Radiotron Designer's Handbook, 4th ed., 1953, section 12.6, from memory; derived here).
//
// Each section obeys rp i = mu vg - (mu + 1) vk + vp. Resistors D from output 1 to grid 2, F from there to
// ground, floating also B from output 2; R1, R2 in the plates, RL the loads. The cathodes stand still where
// their resistor is bypassed.
// Paraphase: with Z1 = R1 || RL || (D + F) and Z2 = R2 || RL the gains are
//   -A1 = -mu1 Z1 / (rp1 + Z1) and A1 A2 F / (D + F), A2 = mu2 Z2 / (rp2 + Z2).
// Without a load and with the source at rest output 1 has the impedance Z = rp1 || R1 || (D + F), output 2
// rp2 || R2, and an ampere out of output 1 raises output 2 by A2 F / (D + F) Z.
// Floating: at grid 2, v2 = -a vg2 with a = (gm2 - 1/B) / (1/rp2 + 1/R2 + 1/RL + 1/B), so that
//   vg2 = t v1, t = 1 / (D (1/D + 1/B + 1/F + a / B)), v2 = -a t v1,
// and section 1 sees D / (1 - t) beside R1 and RL.
// With a bare part Rk of the cathode resistor vk = Rk (i1 + i2) joins them. Of a paraphase, section 1 passes
// i1 = (mu1 vg - (mu1 + 1) vk) / (rp1 + Z1), grid 2 sees -Z1 i1 F / (D + F), and
//   i2 = -S i1 - (mu2 + 1) vk / (rp2 + Z2), S = mu2 Z1 / (rp2 + Z2) F / (D + F),
//   vk / vg = (1 - S) mu1 / (rp1 + Z1) / (1 / Rk + (1 - S) (mu1 + 1) / (rp1 + Z1) + (mu2 + 1) / (rp2 + Z2)).
// The equations of the four nodes of either kind are solved by an independent library too (Eigen).
#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kRounding = 1e-9;  // both sides are exact

double parallel(double a, double b) {
  return a * b / (a + b);
}

Design splitter_of(const Tube& tube, CircuitKind kind) {
  Design d;
  d.circuit = kind;
  d.tube = {&tube, &tube};
  d.supply_v = 300;
  d.plate_ohm = {100e3, 100e3};
  d.cathode_ohm = 820;
  d.grid_leak_ohm = 1e6;
  d.divider_ohm = 470e3;
  d.balancing_ohm = 510e3;
  d.divider_foot_ohm = kind == CircuitKind::paraphase ? 9.1e3 : 470e3;
  d.load_ohm = 470e3;
  d.swing_peak_v = 20;
  return d;
}

struct Drawn {
  Tube tubes[3] = {tube_with(kKoren12AX7), tube_with(kKoren12AU7), tube_with(kKoren12AT7)};
  RandomNumbers random{std::mt19937_64(23)};
  /// `bare`: of the cathode resistor, a share of up to all of it.
  Design draw(CircuitKind kind, bool bare) {
    Design d = splitter_of(tubes[random.below(3)], kind);
    d.tube[1] = &tubes[random.below(3)];
    d.supply_v = random.between(200, 400);
    d.plate_ohm = {random.log_between(47e3, 220e3), random.log_between(47e3, 220e3)};
    d.cathode_ohm = random.log_between(300, 2e3);
    if (bare) d.cathode_unbypassed_ohm = d.cathode_ohm * (random.below(2) ? 1 : random.between(0.1, 0.9));
    d.divider_ohm = random.log_between(220e3, 1e6);
    d.balancing_ohm = random.log_between(220e3, 1e6);
    d.divider_foot_ohm = kind == CircuitKind::paraphase ? d.divider_ohm * random.log_between(0.01, 0.1)
                                                        : random.log_between(100e3, 1e6);
    d.load_ohm = random.log_between(220e3, 1e6);
    return d;
  }
};

/// A rest point at which no grid takes current and both sections work.
bool works(const OperatingPoint& o) {
  for (int i = 0; i < 2; ++i)
    if (o.plate_current_a[i] < 20e-6 || o.grid_to_cathode_v[i] > -0.6 || o.plate_to_cathode_v[i] < 20)
      return false;
  return o.solved == Solved::yes;
}

/// Kirchhoff's law at plate 1, plate 2, grid 2 and cathodes, the source at `source_v`; `amperes` come into
/// the outputs. Bypassed cathodes stand still.
Eigen::Vector4d node_volts(const Design& d, const OperatingPoint& o, double load_s, double source_v,
                           Pair amperes) {
  const bool floating = d.circuit == CircuitKind::floating_paraphase;
  const double gm1 = o.gm_s[0], gm2 = o.gm_s[1], gp1 = 1 / o.rp_ohm[0], gp2 = 1 / o.rp_ohm[1];
  const double D = 1 / d.divider_ohm, F = 1 / d.divider_foot_ohm, B = floating ? 1 / d.balancing_ohm : 0;
  const bool bare = d.cathode_unbypassed_ohm > 0;
  const double K = bare ? 1 / d.cathode_unbypassed_ohm : 0;
  Eigen::Matrix4d m;
  m << 1 / d.plate_ohm[0] + load_s + D + gp1, 0, -D, -gm1 - gp1,      //
      0, 1 / d.plate_ohm[1] + load_s + B + gp2, gm2 - B, -gm2 - gp2,  //
      -D, -B, D + B + F, 0,                                           //
      -gp1, -gp2, -gm2, K + gm1 + gp1 + gm2 + gp2;
  Eigen::Vector4d into(amperes[0] - gm1 * source_v, amperes[1], 0, gm1 * source_v);
  if (!bare) {
    m.row(3) << 0, 0, 0, 1;
    into[3] = 0;
  }
  return m.partialPivLu().solve(into);
}

void check_against_nodes(const Design& d, const Evaluation& e) {
  const OperatingPoint& o = e.operating_point;
  const SmallSignal& s = e.small_signal;
  const Eigen::Vector4d driven = node_volts(d, o, 1 / d.load_ohm, 1, {0, 0});
  CHECK(within_ratio(s.gain[0], driven[0], kRounding));
  CHECK(within_ratio(s.gain[1], driven[1], kRounding));
  CHECK(within(
      s.balance_pct,
      200 * (std::abs(driven[0]) - std::abs(driven[1])) / (std::abs(driven[0]) + std::abs(driven[1])), 1e-6));
  if (d.cathode_unbypassed_ohm > 0) CHECK(within_ratio(s.cathode_gain, driven[3], kRounding));
  const Eigen::Vector4d one = node_volts(d, o, 0, 0, {1, 0}), two = node_volts(d, o, 0, 0, {0, 1});
  CHECK(within_ratio(s.output_impedance_alone_ohm[0], one[0], kRounding));
  CHECK(within_ratio(s.output_impedance_alone_ohm[1], two[1], kRounding));
  CHECK(within_ratio(s.output_impedance_differential_ohm[0], one[0] - two[0], kRounding));
  CHECK(within_ratio(s.output_impedance_differential_ohm[1], two[1] - one[1], kRounding));
}

}  // namespace

TEST_CASE("a paraphase has the gain of one stage, and of that stage, divider and another one") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const Design d = drawn.draw(CircuitKind::paraphase, false);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double both = d.divider_ohm + d.divider_foot_ohm, share = d.divider_foot_ohm / both;
    const double Z1 = parallel(parallel(d.plate_ohm[0], d.load_ohm), both);
    const double Z2 = parallel(d.plate_ohm[1], d.load_ohm);
    const double A1 = o.mu[0] * Z1 / (o.rp_ohm[0] + Z1), A2 = o.mu[1] * Z2 / (o.rp_ohm[1] + Z2);
    const SmallSignal& s = e.small_signal;
    CHECK(within_ratio(s.gain[0], -A1, kRounding));
    CHECK(within_ratio(s.gain[1], A1 * share * A2, kRounding));
    const double one = parallel(parallel(o.rp_ohm[0], d.plate_ohm[0]), both);
    const double two = parallel(o.rp_ohm[1], d.plate_ohm[1]);
    const double unloaded = o.mu[1] * d.plate_ohm[1] / (o.rp_ohm[1] + d.plate_ohm[1]);
    CHECK(within_ratio(s.output_impedance_alone_ohm[0], one, kRounding));
    CHECK(within_ratio(s.output_impedance_alone_ohm[1], two, kRounding));
    CHECK(within_ratio(s.output_impedance_differential_ohm[0], one, kRounding));
    CHECK(within_ratio(s.output_impedance_differential_ohm[1], two + unloaded * share * one, kRounding));
    CHECK(within_ratio(s.input_ohm, d.grid_leak_ohm, kRounding));
    check_against_nodes(d, e);
  }
  CHECK(solved > 100);
}

TEST_CASE("a floating paraphase follows from the node where both outputs meet") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const Design d = drawn.draw(CircuitKind::floating_paraphase, false);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double D = d.divider_ohm, F = d.divider_foot_ohm, B = d.balancing_ohm;
    const double a = (o.gm_s[1] - 1 / B) / (1 / o.rp_ohm[1] + 1 / d.plate_ohm[1] + 1 / d.load_ohm + 1 / B);
    const double t = 1 / (D * (1 / D + 1 / B + 1 / F + a / B));
    const double Z1 = parallel(parallel(d.plate_ohm[0], d.load_ohm), D / (1 - t));
    const double A1 = o.mu[0] * Z1 / (o.rp_ohm[0] + Z1);
    CHECK(within_ratio(e.small_signal.gain[0], -A1, kRounding));
    CHECK(within_ratio(e.small_signal.gain[1], a * t * A1, kRounding));
    check_against_nodes(d, e);
  }
  CHECK(solved > 100);
}

TEST_CASE("with a bare cathode resistor both kinds solve Kirchhoff's law at their four nodes") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 400; ++n) {
    const Design d = drawn.draw(n % 2 == 0 ? CircuitKind::paraphase : CircuitKind::floating_paraphase, true);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (!works(e.operating_point)) continue;
    ++solved;
    check_against_nodes(d, e);
  }
  CHECK(solved > 200);
}

TEST_CASE("a paraphase with a bare cathode resistor has its closed form, on both sides of where it latches") {
  Drawn drawn;
  int solved = 0, latching = 0;
  for (int n = 0; n < 400; ++n) {
    Design d = drawn.draw(CircuitKind::paraphase, true);
    if (n % 2 == 1)
      d.divider_foot_ohm = d.divider_ohm * drawn.random.between(0.2, 2);  // far too large a share
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    const double both = d.divider_ohm + d.divider_foot_ohm;
    const double Z1 = parallel(parallel(d.plate_ohm[0], d.load_ohm), both);
    const double Z2 = parallel(d.plate_ohm[1], d.load_ohm);
    const double W1 = o.rp_ohm[0] + Z1, W2 = o.rp_ohm[1] + Z2;
    const double S = o.mu[1] * Z1 / W2 * d.divider_foot_ohm / both;
    const double still = 1 / d.cathode_unbypassed_ohm + (1 - S) * (o.mu[0] + 1) / W1 + (o.mu[1] + 1) / W2;
    const double vk = (1 - S) * o.mu[0] / W1 / still;
    const double i1 = (o.mu[0] - (o.mu[0] + 1) * vk) / W1, i2 = -S * i1 - (o.mu[1] + 1) * vk / W2;
    // Near the edge both sides lose digits by the same difference.
    const double lost = (1 / d.cathode_unbypassed_ohm + (1 + S) * (o.mu[0] + 1) / W1) / std::abs(still);
    const double allowed = kRounding * std::max(1.0, lost / 10);
    const SmallSignal& s = e.small_signal;
    CHECK(within(s.cathode_gain, vk, allowed * std::max(1.0, std::abs(vk))));
    CHECK(within_ratio(s.gain[0], -Z1 * i1, allowed));
    CHECK(within_ratio(s.gain[1], -Z2 * i2, allowed));
    CHECK((still < 0) == (s.gain[0] > 0));
    latching += still < 0;
  }
  CHECK(solved > 200);
  CHECK(latching > 20);
}

TEST_CASE("both sections rest as two gain stages on one cathode resistor, whatever drives grid 2") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 200; ++n) {
    const Design d =
        drawn.draw(n % 2 == 0 ? CircuitKind::paraphase : CircuitKind::floating_paraphase, n % 3 > 0);
    Evaluation e;
    evaluate(d, Depth::rest, e);
    const OperatingPoint& o = e.operating_point;
    if (!works(o)) continue;
    ++solved;
    // Bias -0.6 V or more: the grids take less than 1e-6 of the plates' current, which is left out here.
    const double share = 2e-6, both = o.plate_current_a[0] + o.plate_current_a[1];
    CHECK(within_ratio(o.cathode_v, both * d.cathode_ohm, share));
    CHECK(within_ratio(o.tail_current_a, both, share));
    for (int i = 0; i < 2; ++i) {
      const double I = o.plate_current_a[i];
      CHECK(within(o.plate_v[i], d.supply_v - I * d.plate_ohm[i], share * d.supply_v));
      CHECK(within_ratio(d.section(i).currents_at(-o.cathode_v, o.plate_to_cathode_v[i]).plate_a, I, 1e-4));
    }
  }
  CHECK(solved > 100);
}

TEST_CASE(
    "sizing makes both outputs of a paraphase equal, where a divider does it and where section 2 helps") {
  Drawn drawn;
  int fitted = 0;
  for (int n = 0; n < 200; ++n) {
    const bool floating = n % 2 == 1;
    Design d = drawn.draw(floating ? CircuitKind::floating_paraphase : CircuitKind::paraphase, false);
    d.tube[1] = d.tube[0];
    SizingInputs wanted;
    wanted.supply_v = drawn.random.between(250, 400);
    wanted.plate_ohm = drawn.random.log_between(47e3, 220e3);
    wanted.plate_current_a = drawn.random.between(0.25, 0.5) * wanted.supply_v / wanted.plate_ohm;
    if (size_stage(wanted, d) > 0) continue;
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (!works(e.operating_point)) continue;
    ++fitted;
    for (int i = 0; i < 2; ++i)
      CHECK(within_ratio(e.operating_point.plate_current_a[i], wanted.plate_current_a, 1e-5));
    // Both rules are exact; the currents are met to 1e-5 and move a gain by less.
    CHECK(within(e.small_signal.balance_pct, 0, 1e-3));
  }
  CHECK(fitted > 80);
}

TEST_CASE("self-balance is what the floating kind is built for: a weak section 2 tilts it less") {
  // A mu that is lower by a tenth at about the same gm leaves 0.9 (rp + Z) / (0.9 rp + Z) of the gain of
  // section 2: some 6 % less, and the paraphase's output 2 as much, but for what the rest shifts. Floating,
  // output 2 over output 1 is a t, which goes as a / (s + a), s = B (1/D + 1/B + 1/F): a large a that is
  // lower says little.
  const Tube tube = tube_with(kKoren12AX7);
  const auto tilt = [&](CircuitKind kind) {
    Design d = splitter_of(tube, kind);
    Evaluation as_meant, weak;
    evaluate(d, Depth::small_signal, as_meant);
    d.spread[1].mu = 0.9;
    evaluate(d, Depth::small_signal, weak);
    return weak.small_signal.balance_pct - as_meant.small_signal.balance_pct;
  };
  const double plain = tilt(CircuitKind::paraphase), floating = tilt(CircuitKind::floating_paraphase);
  CHECK(plain > 4);
  CHECK(floating > 0);
  CHECK(floating < plain / 8);
}

TEST_CASE("a paraphase that would hold itself up through a bare cathode resistor has no target") {
  // A share of output 1 that section 2 makes more than twice as large as output 1, and cathodes that move:
  // section 1 works as a grounded grid from them, and the loop over both has a gain above one. The circuit
  // latches; the equations' solution has its gains upside down.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = splitter_of(tube, CircuitKind::paraphase);
  d.divider_foot_ohm = 470e3;
  d.cathode_ohm = d.cathode_unbypassed_ohm = 1.5e3;
  Evaluation e;
  evaluate(d, Depth::full, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  CHECK(e.small_signal.gain[0] > 0);
  CHECK(e.at_target.solved != Solved::yes);
  d.cathode_unbypassed_ohm = 0;  // bypassed, it only is not balanced
  evaluate(d, Depth::full, e);
  CHECK(e.small_signal.gain[0] < 0);
}

TEST_CASE("behind a gain stage the paraphases have the product of the gains, each with the load it sees") {
  Drawn drawn;
  int solved = 0;
  for (int n = 0; n < 300; ++n) {
    const bool floating = n % 2 == 1;
    Design d = drawn.draw(floating ? CircuitKind::floating_paraphase : CircuitKind::paraphase, n % 3 > 0);
    const CircuitKind alone = d.circuit;
    d.circuit = floating ? CircuitKind::gain_and_floating_paraphase : CircuitKind::gain_and_paraphase;
    FirstStage& f = d.first_stage;
    f.tube = d.tube[0];
    f.plate_ohm = drawn.random.log_between(68e3, 220e3);
    f.cathode_ohm = drawn.random.log_between(680, 4.7e3);
    f.cathode_unbypassed_ohm = drawn.random.below(3) * 0.5 * f.cathode_ohm;
    Evaluation e, splitter;
    evaluate(d, Depth::small_signal, e);
    d.circuit = alone;
    evaluate(d, Depth::small_signal, splitter);
    const OperatingPoint& o = e.operating_point;
    if (!works(o) || o.first.grid_to_cathode_v > -0.6 || o.first.plate_to_cathode_v < 20) continue;
    ++solved;
    // The supply is stiff, so that the splitter rests as it does alone. Where one of the two cathodes has a
    // bare part and the other has none, 10 micro-ohm stand in the place of nothing: 1e-5 of 300 ohm and less,
    // times the gain at a cathode of at most one, is 3e-8.
    const bool floor = (d.cathode_unbypassed_ohm > 0) != (f.cathode_unbypassed_ohm > 0);
    const double allowed = floor ? 1e-7 : kRounding;
    const double load = parallel(f.plate_ohm, d.grid_leak_ohm);
    const double through = o.first.rp_ohm + (o.first.mu + 1) * f.cathode_unbypassed_ohm;
    const double first = o.first.mu * load / (load + through);
    CHECK(within_ratio(e.small_signal.first_stage_gain, -first, allowed));
    for (int i = 0; i < 2; ++i)
      CHECK(within_ratio(e.small_signal.gain[i], -first * splitter.small_signal.gain[i], allowed));
  }
  CHECK(solved > 120);
}
