// Distortion against level: each point is the steady state at its drive, whatever road led to it.
#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("every point of the level curve is the state that a fresh solve finds") {
  Tube tube = tube_with(kKoren12AX7, -0.9);
  tube.grid_diode = grid_diode(-0.9);
  for (CircuitKind kind : {CircuitKind::long_tailed_pair, CircuitKind::common_cathode})
    for (BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
      Design d = pair_of(tube, bias);
      d.circuit = kind;
      d.cathode_ohm = 1500;
      d.source_ohm = bias == BiasForm::negative_rail ? 47e3 : 0;
      Evaluation e;
      evaluate(d, Depth::everything, e);
      const LevelCurve& c = e.level_curve;
      REQUIRE(c.solved == Solved::yes);
      REQUIRE(c.count > 20);
      CHECK(within(c.point[0].level_db, LevelCurve::kLowest_db, 1));
      bool target_seen = false;
      for (int n = 0; n < c.count; ++n) {
        const LevelPoint& p = c.point[n];
        const SteadyState s = steady_state_at_drive(d, p.input_peak_v, nullptr);
        REQUIRE(s.solved == Solved::yes);
        for (int o = 0; o < sections(kind); ++o) {
          CHECK(within_ratio(p.output_peak_v[o], s.output_peak_v[o], 1e-9));
          CHECK(within(p.thd_pct[o], s.thd_pct[o], 1e-6));
        }
        if (within(p.level_db, 0, 1e-9)) {
          target_seen = true;
          CHECK(within(p.thd_pct[0], e.at_target.thd_pct[0], 1e-7));
        }
        if (n > 0) CHECK(p.level_db > c.point[n - 1].level_db);
      }
      CHECK(target_seen);
      // It ends where it clips, unless the list is full.
      const LevelPoint& last = c.point[c.count - 1];
      CHECK((std::max(last.thd_pct[0], last.thd_pct[1]) >= LevelCurve::kClipped_pct ||
             c.count == LevelCurve::kMostPoints));
    }
}

TEST_CASE("second harmonic falls with the level, third with its square, far below the target") {
  // Taylor's series of a static curve: c_2/c_1 goes with the amplitude, c_3/c_1 with its square.
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1500;
  Evaluation e;
  evaluate(d, Depth::everything, e);
  const LevelPoint &a = e.level_curve.point[0], &b = e.level_curve.point[2];
  const double ratio = b.output_peak_v[0] / a.output_peak_v[0];
  CHECK(within_ratio(b.second_pct[0] / a.second_pct[0], ratio, 1e-3));
  CHECK(within_ratio(b.third_pct[0] / a.third_pct[0], ratio * ratio, 1e-2));
}
