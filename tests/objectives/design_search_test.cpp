// The bridge: a search of designs finds the best of them.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/design_problem.h"
#include "objectives/ranking.h"
#include "optimize/engine/lattice/complete.h"
#include "optimize/engine/order.h"
#include "optimize/engine/passes.h"
#include "optimize/engine/search.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// A space small enough to go through whole: the demo's with narrow ranges around a drawn middle.
Brief small_brief(RandomNumbers& random) {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find(std::array{"6SN7GT", "12AU7", "12AT7", "12AX7"}[random.below(4)])};
  s.bias_forms = {static_cast<BiasForm>(random.below(2))};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {380, 400, 20, {}};
  s.tail_fraction = {0.15, 0.25, 0, {}};
  const bool low_mu = s.tubes[0]->name == "6SN7GT" || s.tubes[0]->name == "12AU7";
  const double current = low_mu ? random.between(2e-3, 4e-3) : random.between(0.7e-3, 1.5e-3);
  const double room = random.log_between(1.15, 1.8);  // so that lattices of all sizes come up
  s.plate_current_a = {current / room, room * current, 0, {}};
  const double ohm = random.between(0.3, 0.5) * 390 / current;
  s.plate_ohm = {ohm / room, room * ohm, 0, {}};
  s.plate_ohm_ratio = {1, 1.35, 0, {}};
  s.given.swing_peak_v = random.between(20, 40);
  return brief;
}

}  // namespace

TEST_CASE("ranges of solved quantities are held for the parts too") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = engine::search(
      problem.families(),
      {.global_evaluations_per_family = 200, .lattice_evaluations_per_start = 300, .front_directions = 4},
      {.threads = 1}, {}, nullptr);
  REQUIRE_FALSE(found.best.empty());
  REQUIRE(found.best.front().judged.feasible());
  Evaluation e;
  for (const engine::Point& p : found.front) {
    const Design d = problem.design_at(p.family, p.x);
    evaluate(d, Depth::full, e);
    CHECK(e.operating_point.tail_fraction >= brief.space.tail_fraction.low);
    CHECK(e.operating_point.tail_fraction <= brief.space.tail_fraction.high);
    CHECK(e.operating_point.supply_current_a <= 12e-3);
    for (const LimitResult& r : check_demands(problem.demands(), d, e)) CHECK(r.kept);
  }
}

TEST_CASE("the normal search finds the best of a lattice of parts as going through all of it proves" *
          doctest::test_suite("long")) {
  RandomNumbers random{std::mt19937_64(20)};
  constexpr int kBriefs = 34;
  int exact = 0, usable = 0;
  double worst = 0, least_size = 1e300, greatest_size = 0;
  for (int n = 0; n < kBriefs; ++n) {
    CAPTURE(n);
    const Brief brief = small_brief(random);
    const DesignProblem problem(brief.space, brief.demands);
    if (problem.families().empty()) continue;
    engine::CompleteRun run(problem.families(), {});
    while (!run.finished()) run.advance({2}, {}, nullptr);
    const engine::CompleteFindings whole = run.findings();
    const engine::SearchOutcome found = engine::search(
        problem.families(), engine::passes_for(engine::Effort::normal, 1), {}, {.threads = 2}, {}, nullptr);
    REQUIRE_FALSE(found.best.empty());
    CHECK(found.best.front().judged.feasible() == !whole.best.empty());
    if (whole.best.empty()) continue;
    ++usable;
    least_size = std::min(least_size, engine::combinations(problem.families()));
    greatest_size = std::max(greatest_size, engine::combinations(problem.families()));
    const double best = whole.best.front().judged.cost, gap = found.best.front().judged.cost - best;
    CHECK(gap >= 0);  // nothing beats going through all
    exact += gap == 0;
    worst = std::max(worst, gap / std::max(0.1, std::abs(best)));
    for (const engine::Point& p : found.front) {  // nor does any point of its front
      const bool beaten = std::any_of(whole.front.begin(), whole.front.end(), [&](const engine::Point& q) {
        for (int k = 0; k < 4; ++k)
          if (q.judged.objective[k] > p.judged.objective[k]) return false;
        return true;
      });
      CHECK(beaten);  // or equal
    }
  }
  MESSAGE("best of the lattice found in ", exact, " of ", usable, " briefs of ", least_size, " to ",
          greatest_size, " combinations; worst gap ", worst, " of the score");
  CHECK(usable >= 30);
  CHECK(usable - exact <= usable / 30);
  CHECK(worst <= 0.005);
}

TEST_CASE("candidates are distinct designs, best first") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = engine::search(
      problem.families(),
      {.global_evaluations_per_family = 200, .lattice_evaluations_per_start = 300, .front_directions = 0},
      {.threads = 1}, {}, nullptr);
  std::vector<engine::Point> points = found.best;
  points.insert(points.end(), found.cloud.begin(), found.cloud.end());
  std::sort(points.begin(), points.end(),
            [](const engine::Point& a, const engine::Point& b) { return engine::better(a, b); });
  const auto chosen = choose_distinct(problem, points, 10);
  REQUIRE(chosen.size() == 10);
  CHECK(chosen.front().index == 0);
  std::size_t same = 0;
  for (std::size_t a = 0; a < chosen.size(); ++a) {
    const engine::Point& p = points[chosen[a].index];
    if (a > 0) CHECK(chosen[a - 1].index < chosen[a].index);
    for (std::size_t b = 0; b < a; ++b) CHECK(distinct(problem, p, points[chosen[b].index]));
    for (const std::size_t n : chosen[a].same) {
      CHECK(n > chosen[a].index);
      CHECK_FALSE(distinct(problem, points[n], p));
    }
    same += chosen[a].same.size();
  }
  CHECK(same > 100);  // most of what a search sees last lies around its best
  CHECK(choose_distinct(problem, points, 2).size() == 2);
}

TEST_CASE("the search of a chain finds what going through a reduced lattice finds") {
  Brief brief = brief_named("chain_capacitor_coupled.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find("12AU7")};
  s.first_tubes = {shipped().find("12AY7")};
  s.bias_forms = {BiasForm::direct_coupled};
  s.supply_v = {320, 320, 0, {}};
  s.tail_fraction = {0.2, 0.3, 0, {}};
  s.plate_current_a = {1.8e-3, 2.4e-3, 0, {}};
  s.plate_ohm = {43e3, 51e3, 0, {}};
  s.plate_ohm_ratio = {1, 1.15, 0, {}};
  s.first_plate_ohm = {100e3, 130e3, 0, {}};
  s.first_plate_current_a = {1e-3, 2.5e-3, 0, {}};
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(problem.families().size() == 1);
  const auto& axes = problem.families().front().parts.axes;
  std::size_t points = 1;
  for (const auto& a : axes) points *= a.levels.size();
  MESSAGE("lattice of ", points);
  REQUIRE(points < 40'000);
  engine::Judge judge = problem.families().front().parts.make_judge();
  double best = INFINITY;
  for (std::size_t n = 0; n < points; ++n) {
    std::vector<double> x;
    std::size_t rest = n;
    for (const auto& a : axes) {
      x.push_back(a.levels[rest % a.levels.size()]);
      rest /= a.levels.size();
    }
    const engine::Judged j = judge(x);
    if (j.feasible()) best = std::min(best, j.cost);
  }
  REQUIRE(std::isfinite(best));
  const engine::SearchOutcome found = engine::search(problem.families(), {}, {.threads = 2}, {}, nullptr);
  REQUIRE(!found.best.empty());
  CHECK(found.best.front().judged.feasible());
  CHECK(within_ratio(found.best.front().judged.cost, best, 1e-9));
}
