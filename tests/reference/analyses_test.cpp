#include "tests/reference/analyses.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "tests/reference/published_tubes.h"
#include "tests/support/within.h"

namespace antiphase::reference {
namespace {

constexpr double kNoLoadOhm = 1e12;
constexpr int kSteps = 32;

/// Linear sections: gains and impedances have closed forms.
struct LinearPair {
  const char* id;
  double mu1, rp1, mu2, rp2, r1, r2, tail;  // 1, kohm
  double gain1, gain2, cathode;
  double alone1, alone2, differential;  // kohm; 0: not printed
};

// Exact solutions of the three node equations, printed to 4 or 5 digits and checked against an
// independent nodal matrix.
const LinearPair kLinearPairs[] = {
    {"mu 100, 100 k", 100, 62.5, 100, 62.5, 100, 100, 68, -31.129, 30.410, 0.4893, 68.87, 68.87, 38.46},
    {"mu 100, 100 k beside 330 k", 100, 62.5, 100, 62.5, 76.744, 76.744, 68, -27.834, 27.281, 0.4901, 55.38,
     55.38, 34.45},
    {"mu 100, 82 k and 100 k beside 220 k", 100, 65, 100, 65, 59.735, 68.750, 10.47, -24.535, 25.067, 0.4828,
     45.08, 49.48, 0},
    {"mu 100, 100 k beside 220 k, short tail", 100, 65, 100, 65, 68.750, 68.750, 10.47, -27.230, 24.172,
     0.4656, 50.03, 50.03, 33.41},
    {"mu 20", 20, 7.7, 20, 7.7, 47, 47, 22, -9.0726, 8.1121, 0.4496, 25.68, 25.68, 6.616},
    {"tail without end", 100, 62.5, 100, 62.5, 100, 100, 1e9, -30.769, 30.769, 0.4950, 69.23, 69.23, 38.46},
    {"unlike sections", 100, 62.5, 90, 75, 100, 100, 68, -28.459, 27.676, 0.5322, 71.54, 68.56, 0},
    {"mu 33", 33, 2.64, 33, 2.64, 15, 15, 10, -14.385, 13.676, 0.4730, 8.461, 8.461, 2.245},
};

TEST_CASE("linear pairs have the gains and output impedances of the closed formulas") {
  for (const LinearPair& p : kLinearPairs) {
    CAPTURE(p.id);
    Design d;
    d.bias.form = BiasForm::negative_rail;  // grids at ground: the tail is all that is at the cathodes
    d.bias.rail_v = -100;
    d.supply_v = 300;
    d.plate_ohm = {p.r1 * 1e3, p.r2 * 1e3};
    d.tail.ohm = p.tail * 1e3;
    d.load_ohm = kNoLoadOhm;
    const Draw draw = [&](Coupling coupling) {
      return stage_netlist(d, coupling, [&](int section, const SectionNodes& nodes) {
        return section == 0 ? linear_triode_lines("1", nodes, p.mu1, p.rp1 * 1e3)
                            : linear_triode_lines("2", nodes, p.mu2, p.rp2 * 1e3);
      });
    };
    const SmallSignal s = small_signal(d, draw);
    CHECK(within_ratio(s.gain[0], p.gain1, 1e-4));
    CHECK(within_ratio(s.gain[1], p.gain2, 1e-4));
    CHECK(within_ratio(s.cathode_gain, p.cathode, 2e-4));
    CHECK(within_ratio(s.output_impedance_alone_ohm[0], p.alone1 * 1e3, 3e-4));
    CHECK(within_ratio(s.output_impedance_alone_ohm[1], p.alone2 * 1e3, 3e-4));
    if (p.differential > 0) {
      CHECK(within_ratio(s.output_impedance_differential_ohm[0], p.differential * 1e3, 3e-4));
      CHECK(within_ratio(s.output_impedance_differential_ohm[1], p.differential * 1e3, 3e-4));
    }

    // A linear circuit driven hard: the fundamental is gain times drive, and nothing else is there.
    const Rest rest = rest_point(d, draw);
    const Cycle cycle = steady_state(d, draw, rest.capacitor_v, 2.0, kSteps);
    CHECK(within_ratio(cycle.state.harmonic_v[0][1], 2 * s.gain[0], 1e-9));
    CHECK(within_ratio(cycle.state.harmonic_v[1][1], 2 * s.gain[1], 1e-9));
    CHECK(cycle.state.thd_pct[0] < 1e-6);
    CHECK(cycle.kirchhoff_a < 1e-12);
  }
}

/// Ideal pair of three-halves sections with a tail of constant current: grid voltage for a current
/// ratio y = (i - I) / I, over V0 = (I / k)^(2/3); q = R / rp. From the law itself.
double drive_ratio(double y, double q) {
  return std::cbrt((1 + y) * (1 + y)) - std::cbrt((1 - y) * (1 - y)) + 4.0 / 3 * q * y;
}

/// Where a rising function of [low, high] passes `want`.
template <class Rising>
double bisect(double low, double high, double want, Rising of) {
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (of(middle) < want ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Fundamental and third harmonic of the current ratio for a cosine drive.
std::array<double, 2> closed_harmonics(double peak_over_v0, double q) {
  constexpr int kMany = 400;
  std::array<double, 2> c{};
  for (int k = 0; k < kMany; ++k) {
    const double phase = (k + 0.5) * std::numbers::pi / kMany;
    const double v = peak_over_v0 * std::cos(phase);
    const double y = bisect(-1, 1, v, [q](double ratio) { return drive_ratio(ratio, q); });
    c[0] += 2 * y * std::cos(phase) / kMany;
    c[1] += 2 * y * std::cos(3 * phase) / kMany;
  }
  return c;
}

TEST_CASE("a pair of three-halves sections has the distortion of the closed form") {
  // Third harmonic in percent for a fundamental of 0.25, 0.5, 0.75 times the rest current; 3 or 4 digits.
  struct Printed {
    double q;
    std::array<double, 3> third_pct;
  };
  const Printed printed[] = {{0.78, {0.0668, 0.292, 0.788}}, {1.56, {0.0465, 0.204, 0.556}}};
  const std::array fundamentals{0.25, 0.5, 0.75};
  const ChildLangmuir law{1e-3, 60, 0};
  Tube tube;
  tube.models.push_back({law, "round numbers"});
  const double current_a = 1e-3;
  const double v0 = std::pow(current_a / law.k, 2.0 / 3);
  const double rp_ohm = law.mu * v0 / (1.5 * current_a);

  for (const Printed& p : printed) {
    Design d;
    d.bias.form = BiasForm::negative_rail;
    d.bias.rail_v = -100;
    d.tail.form = TailForm::constant_current;
    d.tail.current_a = 2 * current_a;
    d.tail.output_ohm = 1e15;
    d.supply_v = 250;
    d.tube = {&tube, &tube};
    d.plate_ohm = {p.q * rp_ohm, p.q * rp_ohm};
    d.load_ohm = kNoLoadOhm;
    const Draw draw = drawing_of(d);
    const Rest rest = rest_point(d, draw);
    CHECK(within_ratio(rest.point.plate_current_a[0], current_a, 1e-9));
    CHECK(within_ratio(rest.point.plate_current_a[1], current_a, 1e-9));
    const double load_v = current_a * d.plate_ohm[0];

    for (std::size_t m = 0; m < fundamentals.size(); ++m) {
      CAPTURE(p.q);
      CAPTURE(fundamentals[m]);
      const double peak = bisect(0, drive_ratio(0.999, p.q), fundamentals[m],
                                 [&](double v) { return closed_harmonics(v, p.q)[0]; });
      const std::array want = closed_harmonics(peak, p.q);
      const Cycle cycle = steady_state(d, draw, rest.capacitor_v, peak * v0, kSteps);
      const auto& c = cycle.state.harmonic_v[0];
      CHECK(within_ratio(100 * std::abs(c[3] / c[1]), p.third_pct[m], 2e-3));
      CHECK(within(c[1], -want[0] * load_v, 1e-6 * load_v));
      CHECK(within(c[3], -want[1] * load_v, 1e-6 * load_v));
      CHECK(std::abs(c[2] / c[1]) < 1e-8);  // equal sections, constant sum: odd harmonics only
      CHECK(within_ratio(c[1], -cycle.state.harmonic_v[1][1], 1e-8));
    }
  }
}

TEST_CASE("the means of the capacitor currents vanish and Kirchhoff's law holds at every instant") {
  Design d;
  d.tube = {&published_tube("RSD-2"), &published_tube("RSD-2")};
  d.supply_v = 320;
  d.plate_ohm = {100e3, 110e3};
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 1.2e3;
  d.tail.ohm = 33e3;
  d.load_ohm = 220e3;
  const Draw draw = drawing_of(d);
  const Rest rest = rest_point(d, draw);
  CHECK(rest.kirchhoff_a < 1e-12);
  CHECK(within_ratio(rest.point.tail_v, rest.point.leak_node_v, 1e-12));
  // driven into grid current, where every capacitor's voltage moves
  const Cycle cycle = steady_state(d, draw, rest.capacitor_v, 14.0, kSteps);
  CHECK(cycle.state.grid_to_cathode_peak_v[0] > 0);
  CHECK(cycle.kirchhoff_a < 1e-11);
  CHECK(cycle.mean_left_a < 1e-12);
  CHECK(within(cycle.state.harmonic_v[0][0], 0, 1e-6));
  CHECK(within(cycle.state.harmonic_v[1][0], 0, 1e-6));
  CHECK(cycle.sweeps < 40);
}

}  // namespace
}  // namespace antiphase::reference
