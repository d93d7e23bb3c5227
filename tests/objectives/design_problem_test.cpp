// The bridge: every point of a space is judged, with finite numbers that are the score and the violation.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/design_problem.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/sizing_inputs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("every point of every family is judged with finite numbers") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(problem.families().size() == 8);
  RandomNumbers random{std::mt19937_64(2)};
  int feasible = 0;
  for (const engine::Family& family : problem.families()) {
    engine::Judge ideal = family.ideal.make_judge(), parts = family.parts.make_judge();
    for (int n = 0; n < 200; ++n) {
      const std::vector<double> x = drawn_sizing_inputs(family, random);
      const engine::Judged judged = ideal(x);
      CHECK(std::isfinite(judged.cost));
      CHECK(std::isfinite(judged.violation));
      const std::vector<double> snapped = family.round_to_parts(x);
      if (!snapped.empty()) {
        REQUIRE(snapped.size() == family.parts.axes.size());
        for (std::size_t i = 0; i < snapped.size(); ++i) {
          const auto& levels = family.parts.axes[i].levels;
          CHECK(std::find(levels.begin(), levels.end(), snapped[i]) != levels.end());
        }
        feasible += parts(snapped).feasible();
      }
    }
  }
  MESSAGE("feasible among snapped random points: ", feasible, " of 1600");
  CHECK(feasible > 20);
}

TEST_CASE("a judgement is the score, the figures and the violation of the design") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  const engine::Family& family = problem.families()[0];
  const std::vector<double> middle = middle_sizing_inputs(family);
  const std::vector<double> x = family.round_to_parts(middle);
  REQUIRE_FALSE(x.empty());
  const engine::Judged judged = family.parts.make_judge()(x);
  const Design d = problem.design_at(0, x);
  Evaluation e;
  evaluate(d, Depth::full, e);
  if (judged.violation < 0.25) {
    const auto wanted = score(problem.demands(), d, e);
    REQUIRE(wanted);
    CHECK(judged.cost == *wanted);
    CHECK(judged.violation == demand_violation(problem.demands(), d, e));
    for (std::size_t o = 0; o < brief.demands.objectives.size(); ++o) {
      const Figure& f = *brief.demands.objectives[o].figure;
      CHECK(judged.objective[o] == as_cost(f, *f.measure(d, e)));
    }
  } else {
    CHECK(judged.violation > 1);
  }
}

TEST_CASE("the score is the weighted sum of figures over their scales") {
  const Tube tube = tube_with(kKoren12AX7);
  const Design d = pair_of(tube);
  Evaluation e;
  evaluate(d, Depth::full, e);
  Demands demands;
  demands.objectives = {{find_figure("distortion_pct"), 2, 1}, {find_figure("headroom_db"), 3, 6}};
  const double thd = std::max(e.at_target.thd_pct[0], e.at_target.thd_pct[1]);
  CHECK(within(*score(demands, d, e), 2 * thd / 1 - 3 * e.clean.headroom_db / 6, 1e-12));
  // a limit on a figure that is better nearer zero is on its size
  demands.limits = {{find_figure("balance_pct"), 1e-6, std::nullopt}};
  CHECK(demand_violation(demands, d, e) > 0);
  bool found = false;
  for (const LimitResult& r : check_demands(demands, d, e))
    if (r.name == "balance_pct") {
      found = true;
      CHECK_FALSE(r.kept);
      CHECK(within(r.value, std::abs(e.at_target.balance_pct), 1e-12));
    }
  CHECK(found);
}

TEST_CASE(
    "with overall feedback a design that misses its target is not solved further, and stands behind all that "
    "are") {
  Brief brief = brief_named("chain_direct_coupled.json");
  brief.space.given.swing_peak_v *= 2;  // more than most of these can give
  const DesignProblem problem(brief.space, brief.demands);
  RandomNumbers random{std::mt19937_64(119)};
  int short_of_target = 0;
  Evaluation e, scratch;
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    const engine::Family& family = problem.families()[f];
    for (int n = 0; n < 100; ++n) {
      const std::vector<double> x = drawn_sizing_inputs(family, random);
      const std::vector<double> snapped = family.round_to_parts(x);
      if (snapped.empty()) continue;
      const Design d = problem.design_at(static_cast<int>(f), snapped);
      REQUIRE(has_feedback(d));
      evaluate(d, Depth::full, e);
      if (e.operating_point.solved != Solved::yes || e.at_target.solved == Solved::yes) continue;
      if (total_violation(d, e, problem.demands().factors) > 0.25) continue;  // stops at the ratings
      // one for not being solved to the end, one for the target, the share that is missing of it, and what
      // is over the limits so far
      const double missing =
          e.clean.solved == Solved::yes ? std::max(0.0, 1 - e.clean.swing_peak_v / d.swing_peak_v) : 1;
      const double so_far = demand_violation(problem.demands(), d, e, Depth::full);
      CHECK(within_ratio(problem.judge(d, scratch).violation, 2 + missing + so_far, 1e-9));
      ++short_of_target;
    }
  }
  MESSAGE(short_of_target, " designs short of their target");
  CHECK(short_of_target > 20);
}

TEST_CASE("a feedback resistor that is given is kept, one that is not is chosen") {
  const Brief brief = brief_named("chain_direct_coupled.json");
  const DesignProblem problem(brief.space, brief.demands);
  const engine::Family& family = problem.families().front();
  const std::vector<double> middle = middle_sizing_inputs(family);
  const std::vector<double> x = family.round_to_parts(middle);
  REQUIRE_FALSE(x.empty());
  Design d = problem.design_at(0, x);
  REQUIRE(d.feedback.resistor_ohm == 0);
  const double chosen = problem.with_capacitors(d).feedback.resistor_ohm;
  CHECK(chosen > 0);
  d.feedback.resistor_ohm = 2 * chosen;
  CHECK(problem.with_capacitors(d).feedback.resistor_ohm == 2 * chosen);
}
