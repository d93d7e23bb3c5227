// The pair's linearisation against the closed formulas of the finite-tail pair.
// Source of the formulas: three-node symbolic solution (textbook small-signal analysis of the
// cathode-coupled pair, e.g. Valley & Wallman, Vacuum Tube Amplifiers, 1948, chapter 11).
#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "stagemodels/evaluate.h"
#include "stagemodels/solve/impedance_in_place.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

struct Section {
  double mu, r, R;
};
double parallel(double a, double b) {
  if (std::isinf(a)) return b;
  if (std::isinf(b)) return a;
  return a * b / (a + b);
}

struct ClosedForm {
  double A1, A2, kappa, alone_1, alone_2;
};
/// Legend: mu, r of each section, R its AC plate load, Rt the tail's AC resistance. `R_alone`: plate
/// resistors without load, for the output impedance.
ClosedForm closed_form(const Section& one, const Section& two, double Rt) {
  const double T = parallel(Rt, (two.r + two.R) / (two.mu + 1));
  const double D = one.r + one.R + (one.mu + 1) * T;
  ClosedForm c{};
  c.A1 = -one.mu * one.R / D;
  c.kappa = one.mu * T / D;
  c.A2 = c.kappa * (two.mu + 1) * two.R / (two.r + two.R);
  c.alone_1 = parallel(one.R, one.r + (one.mu + 1) * T);
  c.alone_2 = parallel(two.R, two.r + (two.mu + 1) * parallel(Rt, (one.r + one.R) / (one.mu + 1)));
  return c;
}

}  // namespace

TEST_CASE("the closed formulas solve Kirchhoff's law at both plates and at the cathode") {
  // Three equations in the plates' and the cathode's voltage; of a section i = (mu (vg - vk) + va - vk) / r.
  // Kilohms.
  constexpr double inf = std::numeric_limits<double>::infinity();
  struct Row {
    Section one, two;
    double Rt;
  };
  const Row rows[] = {
      {{100, 62.5, 100}, {100, 62.5, 100}, 68},      {{100, 62.5, 76.744}, {100, 62.5, 76.744}, 68},
      {{100, 65, 59.735}, {100, 65, 68.750}, 10.47}, {{20, 7.7, 47}, {20, 7.7, 47}, 22},
      {{100, 62.5, 100}, {100, 62.5, 100}, inf},     {{100, 62.5, 100}, {90, 75, 100}, 68},
      {{33, 2.64, 15}, {33, 2.64, 15}, 10}};
  for (const auto& [one, two, Rt] : rows) {
    Eigen::Matrix3d G;  // rows: plate 1, plate 2, cathode; columns: their voltages
    G << 1 / one.R + 1 / one.r, 0, -(one.mu + 1) / one.r,  //
        0, 1 / two.R + 1 / two.r, -(two.mu + 1) / two.r,   //
        -1 / one.r, -1 / two.r, (one.mu + 1) / one.r + (two.mu + 1) / two.r + 1 / Rt;
    const Eigen::PartialPivLU<Eigen::Matrix3d> factors(G);
    const Eigen::Vector3d driven = factors.solve(Eigen::Vector3d(-one.mu / one.r, 0, one.mu / one.r));
    const ClosedForm c = closed_form(one, two, Rt);
    CHECK(within_ratio(c.A1, driven[0], 1e-12));
    CHECK(within_ratio(c.A2, driven[1], 1e-12));
    CHECK(within_ratio(c.kappa, driven[2], 1e-12));
    CHECK(within_ratio(c.alone_1, factors.solve(Eigen::Vector3d(1, 0, 0))[0], 1e-12));
    CHECK(within_ratio(c.alone_2, factors.solve(Eigen::Vector3d(0, 1, 0))[1], 1e-12));
  }
}

TEST_CASE("gain and output impedance of four hundred random pairs are the closed formulas") {
  const Tube tubes[] = {tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7),
                        tube_with(kKoren6DJ8), tube_with(ChildLangmuir{1.5e-3, 60, 0.5})};
  RandomNumbers random{std::mt19937_64(7)};
  int solved = 0;
  double worst_gain = 0, worst_ohm = 0;
  for (int n = 0; n < 400; ++n) {
    Design d = pair_of(tubes[0], random.below(2) ? BiasForm::direct_coupled : BiasForm::negative_rail,
                       random.below(2) ? TailForm::resistor : TailForm::constant_current);
    d.tube = {&tubes[random.below(5)], &tubes[random.below(5)]};
    d.supply_v = random.between(200, 450);
    d.plate_ohm = {random.log_between(15e3, 220e3), random.log_between(15e3, 220e3)};
    d.bias.grid_v = random.between(20, 90);
    d.bias.rail_v = -random.between(30, 150);
    d.tail.ohm = random.log_between(5e3, 150e3);
    d.tail.current_a = random.log_between(0.3e-3, 5e-3);
    d.tail.output_ohm = random.log_between(1e5, 1e7);
    d.load_ohm = random.log_between(50e3, 1e6);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    const OperatingPoint& o = e.operating_point;
    if (o.solved != Solved::yes || o.plate_current_a[0] < 20e-6 || o.plate_current_a[1] < 20e-6) continue;
    ++solved;
    const double Rt = d.tail.form == TailForm::resistor ? d.tail.ohm : d.tail.output_ohm;
    const auto loaded = [&](int i) {
      return Section{o.mu[i], o.rp_ohm[i], parallel(d.plate_ohm[i], d.load_ohm)};
    };
    const auto bare = [&](int i) { return Section{o.mu[i], o.rp_ohm[i], d.plate_ohm[i]}; };
    const ClosedForm gain = closed_form(loaded(0), loaded(1), Rt);
    const ClosedForm ohm = closed_form(bare(0), bare(1), Rt);
    const SmallSignal& s = e.small_signal;
    worst_gain = std::max({worst_gain, std::abs(s.gain[0] / gain.A1 - 1), std::abs(s.gain[1] / gain.A2 - 1),
                           std::abs(s.cathode_gain / gain.kappa - 1)});
    worst_ohm = std::max({worst_ohm, std::abs(s.output_impedance_alone_ohm[0] / ohm.alone_1 - 1),
                          std::abs(s.output_impedance_alone_ohm[1] / ohm.alone_2 - 1)});
    // With the leaks in place the same formulas hold of plate loads that have them in parallel.
    const Pair in_place = output_impedance_in_place_ohm(s, d.load_ohm, 2);
    worst_ohm = std::max(
        {worst_ohm, std::abs(in_place[0] / gain.alone_1 - 1), std::abs(in_place[1] / gain.alone_2 - 1)});
    // balance ratio: (R1/R2) (1 + (r2+R2) / ((mu2+1) Rt)), of section 2 alone
    const Section two = loaded(1);
    const double ratio = loaded(0).R / two.R * (1 + (two.r + two.R) / ((two.mu + 1) * Rt));
    CHECK(within_ratio(-s.gain[0] / s.gain[1], ratio, 1e-9));
  }
  // both sides are exact, so only rounding is left (condition numbers up to about 1e5)
  MESSAGE("random pairs ", solved, ", worst gain ", worst_gain, ", worst impedance ", worst_ohm,
          " (relative)");
  CHECK(solved > 250);
  CHECK(worst_gain < 1e-9);
  CHECK(worst_ohm < 1e-9);
}

TEST_CASE("equal sections and loads show R parallel r when both outputs are loaded alike and opposite") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.plate_ohm = {120e3, 120e3};
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const double r = e.operating_point.rp_ohm[0], mu = e.operating_point.mu[0];
  for (int i = 0; i < 2; ++i)
    CHECK(within_ratio(e.small_signal.output_impedance_differential_ohm[i], parallel(120e3, r), 1e-9));
  // Zs = (Zc + Zd) / 2 with Zc = R || (r + 2 (mu + 1) Rt)
  const double common = parallel(120e3, r + 2 * (mu + 1) * d.tail.ohm);
  CHECK(
      within_ratio(e.small_signal.output_impedance_alone_ohm[0], 0.5 * (common + parallel(120e3, r)), 1e-9));
}

TEST_CASE("a tail without end balances any two tubes, a tail of nothing leaves two separate stages") {
  const Tube one = tube_with(kKoren12AX7), two = tube_with(kKoren12AT7);
  Design d = pair_of(one, BiasForm::negative_rail, TailForm::constant_current);
  d.tube = {&one, &two};
  d.tail.output_ohm = 1e12;
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  // Rt without end: |A1| / A2 = R1 / R2 for any tubes
  CHECK(within_ratio(-e.small_signal.gain[0] / e.small_signal.gain[1],
                     parallel(d.plate_ohm[0], d.load_ohm) / parallel(d.plate_ohm[1], d.load_ohm), 1e-6));

  d.tail = {TailForm::resistor, 1, 0, 1e6, 0};
  d.bias.form = BiasForm::direct_coupled;
  d.bias.grid_v = 0;
  d.tube = {&one, &one};
  // one ohm from cathode to ground: the grids need a bias, which a Koren law with an offset gives
  const Tube shifted = tube_with(Koren1996{100, 1.4, 1060, 600, 300, -1.5});
  d.tube = {&shifted, &shifted};
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const double R = parallel(d.plate_ohm[0], d.load_ohm), r = e.operating_point.rp_ohm[0],
               mu = e.operating_point.mu[0];
  // Rt = 1 ohm beside (r + R) / (mu + 1), some kilohms: what is left of A2 is about Rt gm, under 1 %
  CHECK(within_ratio(e.small_signal.gain[0], -mu * R / (r + R), 0.01));
  CHECK(std::abs(e.small_signal.gain[1]) < 0.01 * std::abs(e.small_signal.gain[0]));
}

TEST_CASE("a self-biased pair with leaks of 100 megohms follows the formula of its whole tail") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.grid_leak_ohm = 100e6;
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const OperatingPoint& o = e.operating_point;
  const ClosedForm c =
      closed_form({o.mu[0], o.rp_ohm[0], parallel(d.plate_ohm[0], d.load_ohm)},
                  {o.mu[1], o.rp_ohm[1], parallel(d.plate_ohm[1], d.load_ohm)}, d.bias.ohm + d.tail.ohm);
  // the leaks shunt and lift the tail by parts of 47k / 100M
  CHECK(within_ratio(e.small_signal.gain[0], c.A1, 1e-3));
  CHECK(within_ratio(e.small_signal.gain[1], c.A2, 1e-3));
}

TEST_CASE("the leaks of a self-biased pair lift its input resistance as the published formula says") {
  // h = rho kc / 2, rho = tail / (bias + tail), kc = 2 mu Rt / (r + R + 2 (mu+1) Rt), equal halves;
  // mid-band input resistance of grid 1 = leak / (1 - h). Leaks are taken as large beside the tail.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.plate_ohm = {150e3, 150e3};
  d.grid_leak_ohm = 10e6;
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  const double mu = e.operating_point.mu[0], r = e.operating_point.rp_ohm[0], R = parallel(150e3, d.load_ohm);
  const double Rt = d.bias.ohm + d.tail.ohm, rho = d.tail.ohm / Rt;
  const double h = rho * mu * Rt / (r + R + 2 * (mu + 1) * Rt);
  CHECK(within_ratio(e.small_signal.input_ohm, d.grid_leak_ohm / (1 - h), 0.01));  // tail / leak = 0.5 %
}
