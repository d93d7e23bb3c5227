// Newton steps per evaluation, counted and pinned on a fixed set: more of them mean slower, or a wrong
// derivative.
#include <doctest/doctest.h>

#include <algorithm>

#include "stagemodels/evaluate.h"
#include "tests/support/random_stages.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("Newton steps to the target of five hundred stages") {
  RandomStages stages(41);
  struct Count {
    int solved = 0, most = 0;
    double sum = 0;
    void add(int steps) {
      ++solved;
      most = std::max(most, steps);
      sum += steps;
    }
    double mean() const { return sum / solved; }
  } rest, clean, hard;
  for (int n = 0; n < 500; ++n) {
    const Design d = stages.draw();
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.operating_point.solved != Solved::yes) continue;
    rest.add(e.operating_point.newton_steps);
    const SteadyState& s = e.at_target;
    if (s.solved != Solved::yes) continue;
    double most_v = -1e9, thd = 0;
    for (int i = 0; i < sections(d.circuit); ++i) {
      most_v = std::max(most_v, s.grid_to_cathode_peak_v[i] - d.tube[i]->grid_conduction_v.value);
      thd = std::max(thd, s.thd_pct[i]);
    }
    (most_v < 0 && thd < 3 ? clean : hard).add(s.newton_steps);
  }
  MESSAGE("rest: mean ", rest.mean(), ", most ", rest.most, " of ", rest.solved, "; target, clean: mean ",
          clean.mean(), ", most ", clean.most, " of ", clean.solved, "; grids conducting or distorted: mean ",
          hard.mean(), ", most ", hard.most, " of ", hard.solved);
  // As measured, with a little room: the first digit is the point.
  REQUIRE(clean.solved > 150);
  REQUIRE(hard.solved > 100);
  CHECK(rest.mean() < 3.8);
  CHECK(rest.most <= 12);
  CHECK(clean.mean() < 3.3);
  CHECK(clean.most <= 5);
  CHECK(hard.mean() < 8);
  CHECK(hard.most <= 90);
}
