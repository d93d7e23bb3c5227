// What physics promises of every steady state, at random designs.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/evaluate.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/random_stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("plate currents on the waveforms are those of the law") {
  // describe() takes currents from Kirchhoff's law at the plate; the law itself is the other witness
  RandomStages stages(11);
  for (int n = 0; n < 100; ++n) {
    const Design d = stages.draw_ideal();
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
  RandomStages stages(11);
  int most = 0, solved = 0;
  double sum = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = stages.draw_ideal();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes || e.at_target.thd_pct[0] > 5) continue;
    ++solved;
    const double level = sections(d.circuit) == 2
                             ? std::min(e.at_target.output_peak_v[0], e.at_target.output_peak_v[1])
                             : e.at_target.output_peak_v[0];
    CHECK(within_ratio(level, d.swing_peak_v, 1e-9));
    most = std::max(most, e.at_target.newton_steps);
    sum += e.at_target.newton_steps;
  }
  MESSAGE("Newton steps to the target: mean ", sum / solved, ", most ", most, " of ", solved);
  CHECK(sum / solved < 5.5);
}

TEST_CASE("no drive leaves the stage at rest") {
  RandomStages stages(11);
  for (int n = 0; n < 50; ++n) {
    const Design d = stages.draw_ideal();
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
  RandomStages stages(11);
  for (int n = 0; n < 60; ++n) {
    const Design d = stages.draw_ideal();
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
  RandomStages stages(11);
  int by[5] = {};
  for (int n = 0; n < 300; ++n) {
    const Design d = stages.draw_ideal();
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
