// The bridge: every point of a space is judged, parts are real parts, and the search finds the best of them.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "objectives/design_problem.h"
#include "objectives/part_levels.h"
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
Brief small_brief(Dice& dice) {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find(std::array{"6SN7GT", "12AU7", "12AT7", "12AX7"}[dice.below(4)])};
  s.bias_forms = {static_cast<BiasForm>(dice.below(2))};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {380, 400, 20, {}};
  s.tail_fraction = {0.15, 0.25, 0, {}};
  const bool low_mu = s.tubes[0]->name == "6SN7GT" || s.tubes[0]->name == "12AU7";
  const double current = low_mu ? dice.between(2e-3, 4e-3) : dice.between(0.7e-3, 1.5e-3);
  const double room = dice.log_between(1.15, 1.8);  // so that lattices of all sizes come up
  s.plate_current_a = {current / room, room * current, 0, {}};
  const double ohm = dice.between(0.3, 0.5) * 390 / current;
  s.plate_ohm = {ohm / room, room * ohm, 0, {}};
  s.plate_ohm_ratio = {1, 1.35, 0, {}};
  s.given.swing_peak_v = dice.between(20, 40);
  return brief;
}

}  // namespace

TEST_CASE("every point of every family is judged with finite numbers") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(problem.families().size() == 8);
  Dice dice{std::mt19937_64(2)};
  int feasible = 0;
  for (const engine::Family& family : problem.families()) {
    engine::Judge ideal = family.ideal.make_judge(), parts = family.parts.make_judge();
    for (int n = 0; n < 200; ++n) {
      std::vector<double> x;
      for (const engine::Axis& a : family.ideal.axes)
        x.push_back(a.logarithmic ? dice.log_between(a.low, a.high) : dice.between(a.low, a.high));
      const engine::Judged judged = ideal(x);
      CHECK(std::isfinite(judged.cost));
      CHECK(std::isfinite(judged.violation));
      const std::vector<double> snapped = family.to_parts(x);
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
  std::vector<double> middle;
  for (const engine::Axis& a : family.ideal.axes) middle.push_back(std::sqrt(a.low * a.high));
  const std::vector<double> x = family.to_parts(middle);
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

TEST_CASE("parts come from the series, from the list, or from the step that the brief names") {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  Design base = s.given;
  base.tube = {s.tubes[0], s.tubes[0]};
  base.bias.form = BiasForm::self_biased;
  auto axis = [&](std::string_view pointer) {
    for (const PartAxis& a : part_axes(s, base))
      if (a.field->pointer == pointer) return a.levels;
    return std::vector<double>{};
  };
  for (const char* pointer : {"/plate_ohm/0", "/plate_ohm/1", "/bias/ohm", "/tail/ohm"})
    for (double v : axis(pointer)) CHECK(within_ratio(engine::nearest(engine::Series::e24, v), v, 1e-12));
  CHECK(axis("/supply_v").size() == 11);
  CHECK(axis("/supply_v").front() == 300);
  CHECK(axis("/supply_v").back() == 400);
  CHECK(axis("/plate_ohm/0").front() == 22e3);
  CHECK(axis("/plate_ohm/0").back() == 220e3);
  s.plate_ohm = {47e3, 100e3, 0, {47e3, 68e3, 100e3}};
  CHECK(axis("/plate_ohm/0") == std::vector<double>{47e3, 68e3, 100e3});
  CHECK(axis("/plate_ohm/1") == std::vector<double>{47e3, 68e3, 100e3});
  s.plate_ohm = {51.2e3, 55.5e3, 0, {}};  // between 51 k and 56 k
  const DesignProblem problem(s, brief.demands);
  CHECK(problem.families().empty());
  CHECK(problem.left_out().size() == 8);
}

TEST_CASE("behind a main supply the dropping resistor is a part, and the range of the supply a limit") {
  Brief brief = brief_named("shared_main_supply.json");
  DesignSpace& s = brief.space;
  REQUIRE(s.given.main_supply_v == 330);
  const DesignProblem problem(s, brief.demands);
  REQUIRE_FALSE(problem.families().empty());
  const auto supply_limit = std::find_if(problem.demands().limits.begin(), problem.demands().limits.end(),
                                         [](const FigureLimit& l) { return l.figure->name == "supply_v"; });
  REQUIRE(supply_limit != problem.demands().limits.end());
  CHECK(supply_limit->at_least == 240.0);
  CHECK(supply_limit->at_most == 300.0);

  Dice dice{std::mt19937_64(4)};
  int tried = 0;
  double worst = 0;
  Evaluation e;
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    const engine::Family& family = problem.families()[f];
    const auto dropper = std::find_if(family.parts.axes.begin(), family.parts.axes.end(),
                                      [](const engine::Axis& a) { return a.name == "/dropping_ohm"; });
    REQUIRE(dropper != family.parts.axes.end());
    for (double v : dropper->levels) CHECK(within_ratio(engine::nearest(engine::Series::e24, v), v, 1e-12));
    for (const engine::Axis& a : family.parts.axes) CHECK(a.name != "/supply_v");
    for (int n = 0; n < 50; ++n) {
      std::vector<double> x;
      for (const engine::Axis& a : family.ideal.axes)
        x.push_back(a.logarithmic ? dice.log_between(a.low, a.high) : dice.between(a.low, a.high));
      const std::vector<double> snapped = family.to_parts(x);
      if (snapped.empty()) continue;
      const Design d = problem.design_at(static_cast<int>(f), snapped);
      CHECK(d.main_supply_v == 330);
      CHECK(d.supply_v == 0);
      CHECK(d.bias.grid_clamp == (d.bias.form == BiasForm::direct_coupled));
      evaluate(d, Depth::rest, e);
      const OperatingPoint& o = e.operating_point;
      REQUIRE(o.solved == Solved::yes);
      // Ohm's law at the dropping resistor
      CHECK(within(330 - o.supply_current_a * d.dropping_ohm, o.supply_v, 1e-6));
      CHECK(*find_figure("supply_v")->measure(d, e) == o.supply_v);
      // A wish for more current than the tube passes with a negative grid is not met by any parts.
      if (*std::max_element(o.grid_to_cathode_v.begin(), o.grid_to_cathode_v.end()) >
          d.tube[0]->grid_conduction_v.value)
        continue;
      // Otherwise it is met but for the steps of the parts: dropping resistor, tail and bias are each off by
      // at most half the coarsest step of E24 (sqrt(1.8/1.6), 6 %), and the voltage that is dropped goes with
      // the product of resistance and current.
      const double off = std::abs(o.supply_v - x[0]) / (330 - x[0]);
      CHECK(off < 0.13);
      ++tried;
      worst = std::max(worst, off);
    }
  }
  MESSAGE("supply off by at most ", worst, " of the drop, in ", tried, " designs");
  CHECK(tried > 100);
}

TEST_CASE(
    "clamp diodes are fitted to directly coupled candidates unless refused, and then cold grids block") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.bias_forms = {BiasForm::direct_coupled};
  brief.space.tubes = {shipped().find("6SN7GT")};
  CHECK(DesignProblem(brief.space, brief.demands).families().size() == 1);
  for (const bool clamp : {true, false}) {
    brief.space.given.bias.grid_clamp = clamp;
    const DesignProblem problem(brief.space, brief.demands);
    const engine::Family& family = problem.families()[0];
    Evaluation scratch;
    std::vector<double> middle;
    for (const engine::Axis& a : family.ideal.axes) middle.push_back(std::sqrt(a.low * a.high));
    const Design d = problem.design_at(0, family.to_parts(middle));
    CHECK(d.bias.grid_clamp == clamp);
    // without them the grids of the 6SN7GT, for which no rating is published, stand at 300 V or more against
    // 50 V
    CHECK((problem.judge(d, scratch).violation > 5) == !clamp);
  }
}

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

TEST_CASE("a fixed or listed wish is held by the real parts to half an E24 step") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.tubes = {shipped().find("6SN7GT")};
  brief.space.plate_current_a = {3e-3, 3e-3, 0, {}};
  brief.space.tail_fraction = {0.15, 0.25, 0, {0.15, 0.25}};
  brief.space.plate_ohm_ratio = {1, 1, 0, {}};
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = engine::search(
      problem.families(),
      {.global_evaluations_per_family = 200, .lattice_evaluations_per_start = 600, .front_directions = 4},
      {.threads = 1}, {}, nullptr);
  REQUIRE(found.best.front().judged.feasible());
  Evaluation e;
  for (const engine::Point& p : found.front) {
    const Design d = problem.design_at(p.family, p.x);
    evaluate(d, Depth::rest, e);
    const OperatingPoint& o = e.operating_point;
    CHECK(within_ratio(0.5 * (o.plate_current_a[0] + o.plate_current_a[1]), 3e-3, kNearShare));
    CHECK(
        (within_ratio(o.tail_fraction, 0.15, kNearShare) || within_ratio(o.tail_fraction, 0.25, kNearShare)));
    CHECK(d.plate_ohm[0] == d.plate_ohm[1]);
  }
}

TEST_CASE("a wish that goes in steps is held at every step, both ends with them") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.tail_fraction = {0.15, 0.3, 0.05, {}};
  const DesignProblem problem(brief.space, brief.demands);
  const auto limit = std::find_if(problem.demands().limits.begin(), problem.demands().limits.end(),
                                  [](const FigureLimit& l) { return l.figure->name == "tail_fraction"; });
  REQUIRE(limit != problem.demands().limits.end());
  REQUIRE(limit->one_of.size() == 4);
  for (int n = 0; n < 4; ++n)
    CHECK(within(limit->one_of[static_cast<std::size_t>(n)], 0.15 + 0.05 * n, 1e-12));
  CHECK_FALSE(limit->at_least);
  CHECK_FALSE(limit->at_most);
}

TEST_CASE("a design of the lattice is found again in its own family, one off it nowhere") {
  const Brief brief = brief_named("rehearsal_room.json");
  const DesignProblem problem(brief.space, brief.demands);
  Dice dice{std::mt19937_64(15)};
  int found = 0;
  for (std::size_t f = 0; f < problem.families().size(); ++f)
    for (int n = 0; n < 40; ++n) {
      std::vector<double> x;
      for (const engine::Axis& a : problem.families()[f].parts.axes)
        x.push_back(a.levels[dice.below(static_cast<int>(a.levels.size()))]);
      Design d = problem.design_at(static_cast<int>(f), x);
      const auto point = problem.lattice_point(d);
      REQUIRE(point);
      CHECK(point->family == static_cast<int>(f));
      CHECK(point->x == x);
      ++found;
      // A value of another form does not make it a design of that form.
      Design other = d;
      other.bias.form =
          d.bias.form == BiasForm::self_biased ? BiasForm::direct_coupled : BiasForm::self_biased;
      other.bias.grid_v = d.bias.form == BiasForm::self_biased ? 60 : d.bias.grid_v;
      other.bias.ohm = d.bias.form == BiasForm::self_biased ? d.bias.ohm : 680;
      if (const auto in_other = problem.lattice_point(other))
        CHECK(problem.design_at(in_other->family, in_other->x).bias.form == other.bias.form);
      d.plate_ohm[0] *= 1.02;  // between two of E24
      CHECK_FALSE(problem.lattice_point(d));
    }
  CHECK(found == 320);
}

TEST_CASE("bias and tail suit the plate resistors and the supply that were bought, not the ones wished for") {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.bias_forms = {BiasForm::self_biased};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {300, 400, 50, {}};
  s.plate_ohm = {22e3, 220e3, 0, {22e3, 47e3, 100e3, 220e3}};  // far apart, so that snapping moves the wish
  s.plate_ohm_ratio = {1, 1, 0, {}};
  const DesignProblem problem(s, brief.demands);
  REQUIRE_FALSE(problem.families().empty());
  Dice dice{std::mt19937_64(38)};
  int tried = 0;
  double worst = 0;
  Evaluation e;
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    const engine::Family& family = problem.families()[f];
    for (int n = 0; n < 200; ++n) {
      // supply, share of the tail, plate current, plate resistors and their ratio
      std::vector<double> x;
      for (const engine::Axis& a : family.ideal.axes)
        x.push_back(a.logarithmic ? dice.log_between(a.low, a.high) : dice.between(a.low, a.high));
      const auto wish = [&](std::string_view name) {
        for (std::size_t i = 0; i < x.size(); ++i)
          if (family.ideal.axes[i].name == name) return x[i];
        FAIL("no such wish");
        return 0.0;
      };
      const std::vector<double> snapped = family.to_parts(x);
      if (snapped.empty()) continue;
      const Design d = problem.design_at(static_cast<int>(f), snapped);
      // What would suit exactly; that plate resistor can be too much for that current, then nothing does.
      Design sized = d;
      if (size_stage({.supply_v = d.supply_v,
                      .tail_fraction = wish("tail_fraction"),
                      .plate_current_a = wish("plate_current_a"),
                      .plate_ohm = d.plate_ohm[0]},
                     sized) > 0)
        continue;
      evaluate(sized, Depth::rest, e);
      REQUIRE(e.operating_point.solved == Solved::yes);
      const double suiting_a = e.operating_point.supply_current_a;
      evaluate(d, Depth::rest, e);
      REQUIRE(e.operating_point.solved == Solved::yes);
      // Bias and tail resistor are off by at most half the coarsest step of E24 each, and the current goes
      // with no more than the inverse of both.
      const double off = std::abs(std::log(e.operating_point.supply_current_a / suiting_a));
      CHECK(off <= 0.5 * std::log(1.8 / 1.6));
      ++tried;
      worst = std::max(worst, off);
    }
  }
  MESSAGE("current off by at most ", worst, " in ", tried, " designs");
  CHECK(tried > 100);
}

TEST_CASE(
    "with overall feedback a design that misses its target is not solved further, and stands behind all that "
    "are") {
  Brief brief = brief_named("chain_direct_coupled.json");
  brief.space.given.swing_peak_v *= 2;  // more than most of these can give
  const DesignProblem problem(brief.space, brief.demands);
  Dice dice{std::mt19937_64(119)};
  int short_of_target = 0;
  Evaluation e, scratch;
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    const engine::Family& family = problem.families()[f];
    for (int n = 0; n < 100; ++n) {
      std::vector<double> x;
      for (const engine::Axis& a : family.ideal.axes)
        x.push_back(a.logarithmic ? dice.log_between(a.low, a.high) : dice.between(a.low, a.high));
      const std::vector<double> snapped = family.to_parts(x);
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

TEST_CASE("the normal search finds the best of a lattice of parts, as going through all of it proves") {
  Dice dice{std::mt19937_64(20)};
  constexpr int kBriefs = 34;
  int exact = 0, usable = 0;
  double worst = 0, least_size = 1e300, greatest_size = 0;
  for (int n = 0; n < kBriefs; ++n) {
    CAPTURE(n);
    const Brief brief = small_brief(dice);
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
  const auto chosen = distinct(problem, found.best, 10);
  REQUIRE(chosen.size() == 10);
  CHECK(chosen.front() == 0);
  CHECK(std::is_sorted(chosen.begin(), chosen.end()));
  for (std::size_t a : chosen)
    for (std::size_t b : chosen)
      if (a != b) CHECK((found.best[a].family != found.best[b].family || found.best[a].x != found.best[b].x));
  // ten neighbours of one point are not ten candidates: no two differ by a single E24 step only
  const auto two = distinct(problem, found.best, 2);
  CHECK(two.size() == 2);
}

TEST_CASE("a feedback resistor that is given is kept, one that is not is chosen") {
  const Brief brief = brief_named("chain_direct_coupled.json");
  const DesignProblem problem(brief.space, brief.demands);
  const engine::Family& family = problem.families().front();
  std::vector<double> middle;
  for (const engine::Axis& a : family.ideal.axes) middle.push_back(std::sqrt(a.low * a.high));
  const std::vector<double> x = family.to_parts(middle);
  REQUIRE_FALSE(x.empty());
  Design d = problem.design_at(0, x);
  REQUIRE(d.feedback.resistor_ohm == 0);
  const double chosen = problem.with_capacitors(d).feedback.resistor_ohm;
  CHECK(chosen > 0);
  d.feedback.resistor_ohm = 2 * chosen;
  CHECK(problem.with_capacitors(d).feedback.resistor_ohm == 2 * chosen);
}

TEST_CASE("a chain is sized to what is wished, and its parts lie on the lattice") {
  for (const char* name :
       {"chain_direct_coupled.json", "chain_capacitor_coupled.json", "chain_high_gain.json"}) {
    CAPTURE(name);
    const Brief brief = brief_named(name);
    const DesignProblem problem(brief.space, brief.demands);
    CHECK(problem.left_out().empty());
    REQUIRE(!problem.families().empty());
    Dice dice{std::mt19937_64(7)};
    int judged = 0, feasible = 0;
    for (const engine::Family& family : problem.families()) {
      engine::Judge parts = family.parts.make_judge();
      for (int n = 0; n < 60; ++n) {
        std::vector<double> x;
        for (const engine::Axis& a : family.ideal.axes)
          x.push_back(a.logarithmic ? dice.log_between(a.low, a.high) : dice.between(a.low, a.high));
        const std::vector<double> snapped = family.to_parts(x);
        if (snapped.empty()) continue;
        const engine::Judged j = parts(snapped);
        CHECK(std::isfinite(j.cost));
        CHECK(std::isfinite(j.violation));
        ++judged;
        feasible += j.feasible();
      }
    }
    CHECK(judged > 50);
    MESSAGE(name, ": ", feasible, " feasible of ", judged, " snapped random points");
  }
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
