// Explanations are held against plain evaluations, and against identities of the score.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/explain.h"
#include "optimize/engine/passes.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Brief small_brief() {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.tubes = {shipped().find("6SN7GT")};
  brief.space.bias_forms = {BiasForm::self_biased};
  return brief;
}

engine::SearchOutcome quick(const DesignProblem& problem) {
  return engine::search(problem.families(), engine::passes_for(engine::Effort::quick, 1), {}, {.threads = 2},
                        {}, nullptr);
}

std::optional<double> plain_score(const DesignProblem& problem, const Design& design) {
  Evaluation e;
  evaluate(design, Depth::full, e);
  return score(problem.demands(), design, e);
}

}  // namespace

TEST_CASE("steps of each part are differences of plain evaluations, and the figures bought add up to them") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = quick(problem);
  const engine::Point& best = found.best.front();
  REQUIRE(best.judged.feasible());
  const Explanation e = explain(problem, best);
  const Design design = problem.design_at(best.family, best.x);
  REQUIRE(e.steps.size() == problem.families()[0].parts.axes.size());
  int judged = 0;
  for (const PartSteps& part : e.steps) {
    CAPTURE(part.field->pointer);
    CHECK(part.field->value(design) == part.value);
    for (std::size_t k = 0; k < 2; ++k) {
      if (!part.step[k]) continue;
      const Change& c = *part.step[k];
      CHECK((k == 0) == (c.parts[0].value < part.value));
      Design other = design;
      part.field->at(other) = c.parts[0].value;
      const auto here = plain_score(problem, design), there = plain_score(problem, other);
      REQUIRE(c.score.has_value() == there.has_value());
      if (!there) continue;
      ++judged;
      CHECK(within(*c.score, *there - *here, 1e-9));
      double sum = 0;  // the score is a sum over its figures
      for (const auto& bought : c.bought) sum += bought.value();
      CHECK(std::fabs(sum + *c.score) < 1e-9);
      Evaluation at;
      evaluate(other, Depth::full, at);
      const auto limits = check_demands(problem.demands(), other, at);
      CHECK(std::count_if(limits.begin(), limits.end(), [](const auto& l) { return !l.kept; }) ==
            static_cast<std::ptrdiff_t>(c.broken.size()));
    }
  }
  CHECK(judged >= 8);
}

TEST_CASE("a limit binds exactly when it is kept with less than 5 % in hand") {
  Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  const engine::Point best = quick(problem).best.front();
  const Design design = problem.design_at(best.family, best.x);
  Evaluation e;
  evaluate(design, Depth::full, e);
  const double current = e.operating_point.supply_current_a;
  for (const double room : {0.04, 0.06}) {  // value = limit / (1 + room): margin 3.8 % and 5.7 %
    brief.demands.limits = {{find_figure("supply_current_a"), current * (1 + room)}};
    const DesignProblem limited(brief.space, brief.demands);
    const Explanation x = explain(limited, best);
    const auto it = std::find_if(x.binding.begin(), x.binding.end(),
                                 [](const LimitResult& r) { return r.name == "supply_current_a"; });
    CHECK((it != x.binding.end()) == (room < 0.05));
    CHECK(std::is_sorted(x.binding.begin(), x.binding.end(),
                         [](const auto& a, const auto& b) { return a.margin_pct < b.margin_pct; }));
  }
}

TEST_CASE("what a brief or a default fixes does not bind: some step moves each limit that does") {
  Brief brief = brief_named("only_100k_plates.json");  // plates of 100 kΩ, both the same
  brief.space.given.grid_leak_ohm = brief.space.given.load_ohm = 1e6;
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = quick(problem);
  int binding = 0, givens = 0;
  for (std::size_t n = 0; n < std::min<std::size_t>(30, found.best.size()); ++n) {
    const engine::Point& at = found.best[n];
    const Design design = problem.design_at(at.family, at.x);
    const Explanation x = explain(problem, at);
    // The rows of every design one value away, by plain evaluations.
    std::vector<std::vector<LimitResult>> around;
    for (const PartSteps& part : x.steps)
      for (const auto& step : part.step) {
        if (!step) continue;
        Design other = design;
        part.field->at(other) = step->parts[0].value;
        Evaluation e;
        evaluate(other, Depth::full, e);
        around.push_back(check_demands(problem.demands(), other, e));
      }
    REQUIRE(around.size() >= 4);
    Evaluation e;
    evaluate(design, Depth::full, e);
    for (const LimitResult& r : check_demands(problem.demands(), design, e)) {
      if (!r.kept || !r.known || r.margin_pct >= kBinding_pct) continue;
      const auto same_row = [&](const LimitResult& o) {
        return o.name == r.name && o.section == r.section && o.at_least == r.at_least;
      };
      const bool listed = std::any_of(x.binding.begin(), x.binding.end(), same_row);
      const bool moves = std::any_of(around.begin(), around.end(), [&](const auto& rows) {
        return std::none_of(rows.begin(), rows.end(), [&](const LimitResult& o) {
          return same_row(o) && within_ratio(o.value, r.value, 1e-9) && within_ratio(o.limit, r.limit, 1e-9);
        });
      });
      CAPTURE(std::string(r.name));
      if (r.name == "plate_ohm_ratio")
        CHECK(!listed);  // fixed to 1 by the brief
      else
        CHECK(listed == moves);
      binding += listed;
      givens += !listed;
    }
  }
  CHECK(givens > 0);
  CHECK(binding > 0);
}

TEST_CASE("a limit put between a design and a better neighbour is named with what it would have to give") {
  Brief brief = small_brief();
  const DesignProblem open(brief.space, brief.demands);
  const engine::Point best = quick(open).best.front();
  const Design good = open.design_at(best.family, best.x);
  Evaluation e;
  evaluate(good, Depth::full, e);
  const double good_a = e.operating_point.supply_current_a;

  // A neighbour with a larger tail resistor draws less; the limit lies 1 % below what the best draws.
  const auto& axes = open.families()[static_cast<std::size_t>(best.family)].parts.axes;
  const auto tail = static_cast<std::size_t>(
      std::find_if(axes.begin(), axes.end(), [](const auto& a) { return a.name == "/tail/ohm"; }) -
      axes.begin());
  REQUIRE(tail < axes.size());
  engine::Point held = best;
  const auto level = std::upper_bound(axes[tail].levels.begin(), axes[tail].levels.end(), held.x[tail]);
  REQUIRE(level != axes[tail].levels.end());
  held.x[tail] = *level;
  brief.demands.limits = {{find_figure("supply_current_a"), good_a * 0.99}};
  const DesignProblem problem(brief.space, brief.demands);
  const Explanation x = explain(problem, held);
  const auto it = std::find_if(x.loosenings.begin(), x.loosenings.end(), [](const Loosening& l) {
    return l.change.broken.size() == 1 && l.change.broken[0].name == "supply_current_a";
  });
  REQUIRE(it != x.loosenings.end());
  CHECK(*it->change.score < 0);
  // By the definition of the excess: value / limit - 1 of the worst broken limit.
  const LimitResult& broken = it->change.broken[0];
  CHECK(within_ratio(it->loosen_pct, 100 * (broken.value / broken.limit - 1), 1e-9));
  Design other = problem.design_at(held.family, held.x);
  for (const PartChange& p : it->change.parts) p.field->at(other) = p.value;
  Evaluation at;
  evaluate(other, Depth::full, at);
  CHECK(within_ratio(broken.value, at.operating_point.supply_current_a, 1e-12));
  // With the limit loosened by so much (and a hair) the design is feasible.
  brief.demands.limits = {
      {find_figure("supply_current_a"), good_a * 0.99 * (1 + it->loosen_pct / 100 + 1e-9)}};
  const DesignProblem loosened(brief.space, brief.demands);
  Evaluation scratch;
  CHECK(loosened.judge(other, scratch).feasible());
}

TEST_CASE("the lead of one design over another is the sum of its parts, and changes sign with the order") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = quick(problem);
  const Design a = problem.design_at(found.best[0].family, found.best[0].x);
  const Design b = problem.design_at(found.best[20].family, found.best[20].x);
  Evaluation ea, eb;
  evaluate(a, Depth::full, ea);
  evaluate(b, Depth::full, eb);
  const Lead ab = lead_over(problem.demands(), a, ea, b, eb), ba = lead_over(problem.demands(), b, eb, a, ea);
  REQUIRE(ab.total.has_value());
  CHECK(within(*ab.total, found.best[20].judged.cost - found.best[0].judged.cost, 1e-9));
  double sum = 0;
  for (std::size_t i = 0; i < ab.figures.size(); ++i) {
    sum += *ab.figures[i];
    CHECK(*ab.figures[i] == -*ba.figures[i]);
  }
  CHECK(std::fabs(sum - *ab.total) < 1e-9);
  CHECK(*ab.total >= 0);
  Evaluation none;  // nothing solved: no score, no lead
  CHECK(!lead_over(problem.demands(), a, none, b, eb).total.has_value());
}

TEST_CASE("limits that are left out are not held, and nothing is proved about blocks meanwhile") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  Demands demands = problem.demands();
  const engine::Point best = quick(problem).best.front();
  Design design = problem.design_at(best.family, best.x);
  design.grid_leak_ohm = 50e6;  // above every sheet's
  Evaluation e;
  evaluate(design, Depth::full, e);
  REQUIRE(demand_violation(demands, design, e) > 0);
  const auto rows = check_demands(demands, design, e).size();
  leave_out(*find_limit("grid_leak_ohm"), demands.factors);
  CHECK(leaves_something_out(demands));
  CHECK(demand_violation(demands, design, e) == 0);
  CHECK(may_be_met(demands, design, e, Depth::full));
  CHECK(check_demands(demands, design, e).size() == rows - 2);  // one for each section
  leave_out(*find_figure("plate_current_a"), demands);
  CHECK(check_demands(demands, design, e).size() == rows - 4);  // both ends of the range
  CHECK(!BlockTest(demands).none_feasible(design, design, BlockTest::Corners::solved, e));
}
