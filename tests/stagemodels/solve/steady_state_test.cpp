// What physics promises of every steady state, at random designs.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

struct Bench {
  std::vector<Tube> tubes{tube_with(kKoren12AX7), tube_with(kKoren12AT7), tube_with(kKoren12AU7),
                          tube_with(kKoren6DJ8), tube_with(kRsd2, -0.3)};
  Dice dice{std::mt19937_64(11)};

  /// A design that somebody might draw: currents and voltages in the usual ranges, any form.
  Design draw() {
    Design d = pair_of(tubes[0], static_cast<BiasForm>(dice.below(3)), static_cast<TailForm>(dice.below(2)));
    if (dice.below(4) == 0) d.circuit = CircuitKind::common_cathode;
    const Tube* tube = &tubes[static_cast<std::size_t>(dice.below(5))];
    d.tube = {tube, tube};
    d.supply_v = dice.between(200, 420);
    const double ohm = dice.log_between(22e3, 180e3);
    d.plate_ohm = {ohm, ohm * dice.between(0.95, 1.3)};
    const double each = dice.between(0.2, 0.55) * d.supply_v / ohm;
    const double tail_v = dice.between(0.1, 0.3) * d.supply_v;
    d.bias.ohm = dice.between(1, 6) / (2 * each);
    d.bias.grid_v = tail_v;
    d.bias.rail_v = -tail_v;
    d.tail.ohm = tail_v / (2 * each);
    d.tail.current_a = 2 * each;
    d.cathode_ohm = dice.between(0.7, 5) / each;
    d.cathode_unbypassed_ohm = dice.below(3) * 0.5 * d.cathode_ohm;
    d.load_ohm = ohm * dice.between(1.5, 6);
    d.swing_peak_v = dice.between(5, 30);
    return d;
  }
};

double mean_of(const Row& row) {
  const Instants& in = cycle_instants();
  double sum = 0;
  for (int k = 0; k < in.count; ++k) sum += in.mean[k] * row[k];
  return sum;
}

}  // namespace

TEST_CASE("charge and energy balance in three hundred random steady states") {
  Bench bench;
  int solved = 0;
  double worst_charge = 0, worst_energy = 0, worst_level = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) continue;
    ++solved;
    const Waveforms& w = e.waveforms;
    const int count = sections(d.circuit);
    double power = 0, used = 0, least = 1e300;
    const Instants& in = cycle_instants();
    for (int i = 0; i < count; ++i) {
      // no mean current in the load, so none through the coupling capacitor
      worst_charge = std::max(worst_charge, std::abs(mean_of(w.output_v[i])) / d.swing_peak_v);
      least = std::min(least, e.at_target.output_peak_v[i]);
      for (int k = 0; k < in.count; ++k) {
        const double through = (d.supply_v - w.plate_v[i][k]) / d.plate_ohm[i];
        power += in.mean[k] * d.supply_v * through;
        used += in.mean[k] *
                (through * through * d.plate_ohm[i] + w.output_v[i][k] * w.output_v[i][k] / d.load_ohm +
                 (w.plate_v[i][k] - w.cathode_v[k]) * w.plate_current_a[i][k] +
                 // what reaches the cathode from the plates goes on into bias and tail
                 w.cathode_v[k] * w.plate_current_a[i][k]);
      }
    }
    // the output capacitor's voltage times its current averages to zero and is left out on both sides
    worst_energy = std::max(worst_energy, std::abs(used / power - 1));
    worst_level = std::max(worst_level, std::abs(least / d.swing_peak_v - 1));
  }
  MESSAGE("steady states ", solved, ", worst mean output ", worst_charge, ", energy ", worst_energy,
          ", level ", worst_level, " (relative)");
  CHECK(solved > 200);
  // Newton's last step is under 1e-5 V, its error under the square of that
  CHECK(worst_charge < 1e-9);
  CHECK(worst_energy < 1e-9);
  CHECK(worst_level < 1e-9);
}

TEST_CASE("plate currents on the waveforms are those of the law") {
  // describe() takes currents from Kirchhoff's law at the plate; the law itself is the other witness
  Bench bench;
  for (int n = 0; n < 100; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) continue;
    for (int i = 0; i < sections(d.circuit); ++i)
      for (int k = 0; k < e.waveforms.instants; ++k) {
        const double law = currents_at(d.tube[i]->law(), e.waveforms.grid_to_cathode_v[i][k],
                                       e.waveforms.plate_v[i][k] - e.waveforms.cathode_v[k])
                               .plate_a;
        CHECK(within(e.waveforms.plate_current_a[i][k], law, 1e-11));
      }
  }
}

TEST_CASE("the bordered matrix has the derivatives of its equations") {
  // seen from outside: Newton converges by squares, so a wrong derivative shows as many steps
  Bench bench;
  int most = 0, solved = 0;
  double sum = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes || e.at_target.thd_pct[0] > 5) continue;
    ++solved;
    most = std::max(most, e.at_target.newton_steps);
    sum += e.at_target.newton_steps;
  }
  MESSAGE("Newton steps to the target: mean ", sum / solved, ", most ", most, " of ", solved);
  CHECK(sum / solved < 5.5);
}

TEST_CASE("no drive leaves the stage at rest") {
  Bench bench;
  for (int n = 0; n < 50; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::rest, e);
    if (e.operating_point.solved != Solved::yes) continue;
    Waveforms w;
    const SteadyState s = steady_state_at_drive(d, 1e-9, &w);
    REQUIRE(s.solved == Solved::yes);
    CHECK(within(w.cathode_v[0], e.operating_point.cathode_v, 1e-6));
    CHECK(within(w.plate_v[0][5], e.operating_point.plate_v[0], 1e-6));
  }
}

TEST_CASE("small drive gives the small-signal gain") {
  Bench bench;
  for (int n = 0; n < 60; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    const SteadyState s = steady_state_at_drive(d, 1e-3, nullptr);
    REQUIRE(s.solved == Solved::yes);
    for (int i = 0; i < sections(d.circuit); ++i)
      // curvature adds parts of (1 mV / 1 V)^2
      CHECK(within_ratio(s.output_peak_v[i] / 1e-3, std::abs(e.small_signal.gain[i]), 1e-4));
  }
}

TEST_CASE("the clean swing ends exactly where its condition does") {
  Bench bench;
  int by[5] = {};
  for (int n = 0; n < 300; ++n) {
    const Design d = bench.draw();
    Evaluation e;
    evaluate(d, Depth::full, e);
    if (e.clean.solved != Solved::yes || e.clean.swing_peak_v <= 0) continue;
    ++by[static_cast<int>(e.clean.limited_by)];
    const SteadyState at = steady_state_at_drive(d, e.clean.input_peak_v, nullptr);
    REQUIRE(at.solved == Solved::yes);
    const int count = sections(d.circuit);
    const double level =
        count == 2 ? std::min(at.output_peak_v[0], at.output_peak_v[1]) : at.output_peak_v[0];
    CHECK(within_ratio(level, e.clean.swing_peak_v, 1e-6));
    double thd = 0, grid = -1e300, low = 1e300;
    for (int i = 0; i < count; ++i) {
      thd = std::max(thd, at.thd_pct[i] / d.clean_limit_pct);
      grid = std::max(grid, at.grid_to_cathode_peak_v[i] - d.tube[i]->grid_conduction_v.value);
      low = std::min(low, at.plate_current_low_a[i] / e.operating_point.plate_current_a[i]);
    }
    // all conditions kept (settled to 1e-6 of their range), the named one at its end
    CHECK(thd <= 1 + 1e-4);
    CHECK(grid <= 1e-4);
    CHECK(low >= 0.01 - 1e-4);
    if (e.clean.limited_by == CleanLimit::distortion) CHECK(within(thd, 1, 1e-4));
    if (e.clean.limited_by == CleanLimit::grid_conduction) CHECK(within(grid, 0, 1e-4));
    if (e.clean.limited_by == CleanLimit::cutoff) CHECK(within(low, 0.01, 1e-4));
  }
  MESSAGE("clean swing ends by distortion ", by[1], ", grid conduction ", by[2], ", cut-off ", by[3]);
  CHECK(by[1] > 10);
  CHECK(by[2] > 10);
}

TEST_CASE("sixteen instants give the harmonics that thirty-two give") {
  const Instants fine = make_instants(31), coarse = make_instants(kIntervals);
  // a transfer curve as strongly bent as a stage near its clean limit (3 % distortion) may be
  const auto curve = [](double v) { return std::tanh(v) + 0.05 * v * v; };
  for (int h = 1; h <= kHarmonics; ++h) {
    double a = 0, b = 0;
    for (int k = 0; k < fine.count; ++k) a += fine.harmonic[h][k] * curve(0.9 * fine.cosine[k]);
    for (int k = 0; k < coarse.count; ++k) b += coarse.harmonic[h][k] * curve(0.9 * coarse.cosine[k]);
    CHECK(within(a, b, 1e-6));  // order 20 and up of tanh(0.9 cos) are below this
  }
}

TEST_CASE("the harmonic weights are orthogonal") {
  const Instants in = cycle_instants();
  for (int h = 0; h <= kHarmonics; ++h)
    for (int g = 0; g <= kHarmonics; ++g) {
      double sum = 0;
      for (int k = 0; k < in.count; ++k) {
        const double cos_g = std::cos(g * std::acos(in.cosine[k]));
        sum += in.harmonic[h][k] * cos_g;
      }
      CHECK(within(sum, h == g ? 1.0 : 0.0, 1e-13));
    }
}
