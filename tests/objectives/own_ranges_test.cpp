// Parts that a brief fixes, lists or ranges by itself: kept by every candidate, with the rest sized to suit.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "objectives/explain.h"
#include "objectives/judgement.h"
#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "optimize/engine/lattice/levels.h"
#include "optimize/engine/search.h"
#include "tests/objectives/each_of_block.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/sizing_inputs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

engine::SearchOutcome short_search(const DesignProblem& problem) {
  return engine::search(problem.families(),
                        {.global_evaluations_per_family = 150,
                         .screening_evaluations_per_family = 150,
                         .refined_points_per_family = 1,
                         .local_evaluations = 60,
                         .lattice_starts_per_family = 2,
                         .lattice_evaluations_per_start = 300,
                         .front_directions = 2,
                         .front_evaluations_per_direction = 60,
                         .families_kept = 2,
                         .best_kept = 12,
                         .front_kept = 6,
                         .cloud_kept = 0},
                        {.threads = 2}, {}, nullptr);
}

/// By the words of the brief alone, not by the lattice.
bool allows(const Range& range, double value) {
  const auto same = [](double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(b); };
  if (!range.values.empty())
    return std::any_of(range.values.begin(), range.values.end(), [&](double v) { return same(value, v); });
  if (range.fixed()) return same(value, range.low);
  if (range.step > 0) {
    const double steps = (value - range.low) / range.step;
    return std::fabs(steps - std::round(steps)) < 1e-6 && value <= range.high + 1e-9 * range.step &&
           value >= range.low - 1e-9 * range.step;
  }
  return value >= range.low - 1e-9 * std::fabs(range.low) &&
         value <= range.high + 1e-9 * std::fabs(range.high);
}

/// A range of a drawn kind that has `value` in it.
Range around(double value, RandomNumbers& random, int kind) {
  const double size = std::fabs(value), below = size * random.between(0.05, 0.4),
               above = size * random.between(0.1, 0.4);
  if (kind == 0) return {value, value, 0, {}};
  if (kind == 1) {
    const std::vector<double> list{value - below, value, value + above};
    return {list.front(), list.back(), 0, list};
  }
  if (kind == 2) return {value - 2 * 0.07 * size, value + 3 * 0.07 * size, 0.07 * size, {}};
  return {value - below - 0.1 * size, value + above + 0.1 * size, 0, {}};  // wide enough for a value of E24
}

/// The ranges of some parts of a design that sizing finds for the brief.
void draw_own_ranges(Brief& brief, RandomNumbers& random, std::map<std::string, int>& drawn) {
  constexpr std::array kKinds{"fixed", "list", "steps", "range"};
  DesignSpace& space = brief.space;
  const DesignProblem open(space, brief.demands);
  REQUIRE(!open.families().empty());
  const int f = random.below(static_cast<int>(open.families().size()));
  const engine::Family& family = open.families()[static_cast<std::size_t>(f)];
  std::vector<double> x;
  for (int n = 0; n < 50 && x.empty(); ++n) x = family.round_to_parts(drawn_sizing_inputs(family, random));
  if (x.empty()) return;
  const Design d = open.with_capacitors(open.design_at(f, x));
  for (const DesignField& part : design_fields()) {
    if (!may_have_own_range(space.circuit(), part) || !part.applies(d)) continue;
    if (part.value(d) == 0 || random.below(3) > 0) continue;
    if (part.role == FieldRole::capacitor && !space.low_frequency_hz) continue;
    const int kind = random.below(4);
    space.own_ranges.push_back({&part, around(part.value(d), random, kind)});
    ++drawn[kKinds[static_cast<std::size_t>(kind)]];
    ++drawn[std::string(part.pointer)];
  }
}

}  // namespace

TEST_CASE(
    "every candidate lies in the parts' own ranges, and is worth what the judgement of all demands says") {
  RandomNumbers random{std::mt19937_64(21)};
  std::map<std::string, int> drawn;
  int candidates = 0, feasible = 0, steps = 0;
  for (int n = 0; n < 40; ++n) {
    constexpr std::array kBriefs{"rehearsal_room.json", "shared_main_supply.json", "first_stage.json",
                                 "chain_direct_coupled.json", "split_load.json", "chain_decoupled.json"};
    Brief brief = brief_named(kBriefs[static_cast<std::size_t>(n) % kBriefs.size()]);
    DesignSpace& space = brief.space;
    space.tubes = {space.tubes.front()};
    if (!space.first_tubes.empty()) space.first_tubes = {space.first_tubes.front()};
    if (n % 2 == 0) space.low_frequency_hz = 10;
    if (n % 4 == 3) space.low_frequency_hz.reset();
    draw_own_ranges(brief, random, drawn);
    if (n % 8 >= 6) space.given.swing_peak_v *= 3;  // near misses keep the ranges too
    const DesignProblem problem(space, brief.demands);
    const engine::SearchOutcome found = short_search(problem);
    for (const auto* points : {&found.best, &found.front})
      for (const engine::Point& p : *points) {
        const Judgement j = judge_fully(problem, problem.design_at(p.family, p.x));
        ++candidates;
        feasible += p.judged.feasible();
        for (const DesignSpace::OwnRange& own : space.own_ranges) {
          if (!own.part->applies(j.design)) continue;
          CAPTURE(own.part->pointer);
          CAPTURE(own.part->value(j.design));
          const bool chosen =
              own.part->role == FieldRole::capacitor || own.part == &member::feedback_resistor_ohm;
          if (chosen && j.evaluation.operating_point.solved != Solved::yes) continue;  // nothing to choose by
          CHECK(allows(own.range, own.part->value(j.design)));
        }
        CHECK(j.feasible == p.judged.feasible());
        if (p.judged.feasible()) CHECK(within(j.score.value(), p.judged.cost, 1e-9));
      }
    if (found.best.empty()) continue;
    for (const PartSteps& part : explain(problem, found.best.front()).steps) {
      const Range* own = space.own_range(*part.field);
      if (!own) continue;
      CHECK(!own->fixed());
      for (const auto& step : part.step)
        if (step) {
          CHECK(step->parts[0].beyond == !allows(*own, step->parts[0].value));
          ++steps;
        }
    }
  }
  for (const auto& [what, count] : drawn) MESSAGE(what, ": ", count);
  MESSAGE(candidates, " candidates, ", feasible, " of them feasible; ", steps, " steps");
  CHECK(drawn["/first_stage/decoupling_ohm"] > 0);
  for (const char* kind : {"fixed", "list", "steps", "range"}) CHECK(drawn[kind] >= 3);
  CHECK(candidates > 100);
  CHECK(feasible > 100);
  CHECK(candidates - feasible > 20);
  CHECK(steps > 5);
}

TEST_CASE("a block of parts with their own ranges that is dropped holds no feasible design") {
  RandomNumbers random{std::mt19937_64(22)};
  std::map<std::string, int> drawn;
  int dropped = 0, kept = 0, feasible = 0;
  for (int n = 0; n < 30; ++n) {
    Brief brief = brief_named(n % 3 == 2 ? "chain_direct_coupled.json" : "rehearsal_room.json");
    DesignSpace& space = brief.space;
    space.tubes = {space.tubes.front()};
    if (!space.first_tubes.empty()) space.first_tubes = {space.first_tubes.front()};
    space.given.feedback.given = false;  // its limits take long, and blocks know nothing of them
    std::erase_if(brief.demands.limits,
                  [](const FigureLimit& l) { return l.figure->name.starts_with("feedback"); });
    space.low_frequency_hz.reset();
    draw_own_ranges(brief, random, drawn);
    const DesignProblem problem(space, brief.demands);
    Evaluation scratch;
    for (std::size_t f = 0; f < problem.families().size(); ++f) {
      const int family = static_cast<int>(f);
      const engine::Problem& lattice = problem.families()[f].parts;
      for (int m = 0; m < 8; ++m) {
        engine::Levels low, high;
        std::vector<double> low_x(lattice.axes.size()), high_x(low_x.size()), x(low_x.size());
        for (const engine::Axis& axis : lattice.axes) {
          const int all = static_cast<int>(axis.levels.size());
          low.push_back(random.below(all));
          high.push_back(std::min(all - 1, low.back() + random.below(2)));
        }
        engine::values_of(lattice, low, low_x);
        engine::values_of(lattice, high, high_x);
        const bool none = problem.none_feasible(family, low_x, high_x, 1e6, scratch);
        ++(none ? dropped : kept);
        testing::each_of_block(low, high, [&](const engine::Levels& at) {
          engine::values_of(lattice, at, x);
          const bool good = problem.judge(problem.design_at(family, x), scratch).feasible();
          feasible += good;
          if (good) CHECK(!none);
        });
      }
    }
  }
  MESSAGE(dropped, " blocks dropped, ", kept, " kept, with ", feasible,
          " feasible designs; grid leaks drawn ", drawn["/grid_leak_ohm"]);
  CHECK(dropped > 50);
  CHECK(feasible > 50);
  CHECK(drawn["/grid_leak_ohm"] > 0);
}

TEST_CASE("the search's best among own lists is that of going through all of them by hand") {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find("6SN7GT")};
  s.bias_forms = {BiasForm::self_biased};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {350, 350, 0, {}};
  const auto list = [](std::vector<double> v) { return Range{v.front(), v.back(), 0, v}; };
  s.plate_ohm = list({33e3, 47e3, 56e3});
  const std::vector<double> second{33e3, 39e3, 47e3, 51e3}, bias{470, 560, 680, 820, 1000, 1200},
      tail{6.8e3, 8.2e3, 10e3, 12e3, 15e3, 18e3};
  s.own_ranges = {
      {&member::plate_ohm_1, list(second)}, {&member::bias_ohm, list(bias)}, {&member::tail_ohm, list(tail)}};
  const DesignProblem problem(s, brief.demands);
  REQUIRE(problem.families().size() == 1);
  Design d = bases_of(s).front();
  d.supply_v = 350;
  double best = INFINITY;
  int all = 0;
  for (const double plate_1 : s.plate_ohm.values)
    for (const double plate_2 : second)
      for (const double bias_ohm : bias)
        for (const double tail_ohm : tail) {
          d.plate_ohm = {plate_1, plate_2};
          d.bias.ohm = bias_ohm;
          d.tail.ohm = tail_ohm;
          const Judgement j = judge_fully(problem, d);
          if (j.feasible) best = std::min(best, j.score.value());
          ++all;
        }
  REQUIRE(std::isfinite(best));
  const engine::SearchOutcome found = engine::search(
      problem.families(),
      {.global_evaluations_per_family = 200, .lattice_evaluations_per_start = 300, .front_directions = 8},
      {.threads = 2}, {}, nullptr);
  CHECK(all == 432);  // more than one descent may look at
  REQUIRE(found.best.front().judged.feasible());
  CHECK(within(found.best.front().judged.cost, best, 1e-9));
}

TEST_CASE("where every part is given there is one design, and it is found") {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find("6SN7GT")};
  s.bias_forms = {BiasForm::self_biased};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {350, 350, 0, {}};
  s.plate_ohm = {47e3, 47e3, 0, {}};
  s.own_ranges = {{&member::plate_ohm_1, {51e3, 51e3, 0, {}}},
                  {&member::bias_ohm, {820, 820, 0, {}}},
                  {&member::tail_ohm, {10e3, 10e3, 0, {}}}};
  const DesignProblem problem(s, brief.demands);
  REQUIRE(problem.families().size() == 1);
  const engine::SearchOutcome found = short_search(problem);
  REQUIRE(found.best.size() == 1);
  const Design d = problem.design_at(0, found.best.front().x);
  CHECK(d.supply_v == 350);
  CHECK(d.plate_ohm[0] == 47e3);
  CHECK(d.plate_ohm[1] == 51e3);
  CHECK(d.bias.ohm == 820);
  CHECK(d.tail.ohm == 10e3);
  const Explanation x = explain(problem, found.best.front());
  CHECK(x.neighbours == 0);
  CHECK(x.binding.empty());
}

TEST_CASE("a part far from what the wishes lead to is told with the range of the closed formula") {
  // Of a self-biased pair the tail carries both currents at its share of the supply: R = share V / (2 I).
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  s.tubes = {shipped().find("6SN7GT")};
  s.bias_forms = {BiasForm::self_biased};
  s.tail_forms = {TailForm::resistor};
  s.supply_v = {300, 300, 0, {}};
  s.tail_fraction = {0.1, 0.2, 0, {}};
  s.plate_current_a = {2e-3, 3e-3, 0, {}};
  s.plate_ohm = {33e3, 47e3, 0, {}};
  s.own_ranges = {{&member::tail_ohm, {47e3, 47e3, 0, {}}}};
  const auto clash = over_determined(s, bases_of(s).front());
  REQUIRE(clash);
  CHECK(clash->part == &member::tail_ohm);
  // the wishes count as met within kNearShare
  CHECK(within_ratio(clash->low, 0.1 * 0.95 * 300 / (2 * 3e-3 * 1.05), 1e-9));
  CHECK(within_ratio(clash->high, 0.2 * 1.05 * 300 / (2 * 2e-3 * 0.95), 1e-9));
  CHECK(clash->by ==
        std::vector{SizingInput::supply_v, SizingInput::tail_fraction, SizingInput::plate_current_a});
  const DesignProblem none(s, brief.demands);
  CHECK(none.families().empty());
  REQUIRE(none.left_out().size() == 1);
  CHECK(none.left_out()[0].find("tail resistor") != std::string::npos);
  CHECK(none.left_out()[0].find("tail_fraction") != std::string::npos);

  for (const double fits : {5.1e3, 10e3, 15e3}) {
    s.own_ranges[0].range = {fits, fits, 0, {}};
    CHECK_FALSE(over_determined(s, bases_of(s).front()));
    CHECK(DesignProblem(s, brief.demands).families().size() == 1);
  }
}

TEST_CASE("an ideal design keeps what is given, and its supply is what the given dropping resistor leaves") {
  Brief brief = brief_named("shared_main_supply.json");
  brief.space.bias_forms = {BiasForm::self_biased};
  brief.space.own_ranges = {{&member::dropping_ohm, {22e3, 22e3, 0, {}}}};
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(!problem.families().empty());
  RandomNumbers random{std::mt19937_64(3)};
  int tried = 0;
  Evaluation e;
  for (std::size_t f = 0; f < problem.families().size(); ++f)
    for (int n = 0; n < 40; ++n) {
      const engine::Family& family = problem.families()[f];
      const std::vector<double> x = family.round_to_parts(drawn_sizing_inputs(family, random));
      if (x.empty()) continue;
      const Design d = problem.design_at(static_cast<int>(f), x);
      CHECK(d.dropping_ohm == 22e3);
      evaluate(d, Depth::rest, e);
      REQUIRE(e.operating_point.solved == Solved::yes);
      CHECK(within(330 - 22e3 * e.operating_point.supply_current_a, e.operating_point.supply_v, 1e-6));
      ++tried;
    }
  CHECK(tried > 50);
}

TEST_CASE("where the first plate is to stand is a limit on where it stands by Ohm's law") {
  Brief brief = brief_named("chain_capacitor_coupled.json");
  brief.space.tubes = {brief.space.tubes.front()};
  brief.space.first_tubes = {brief.space.first_tubes.front()};
  const auto plate_v = [](const Design& d) {  // all of its current comes through its resistor
    Evaluation e;
    evaluate(d, Depth::rest, e);
    REQUIRE(e.operating_point.solved == Solved::yes);
    const double v =
        e.operating_point.supply_v - e.operating_point.first.plate_current_a * d.first_stage.plate_ohm;
    CHECK(within(find_figure("first_plate_v")->measure(d, e).value(), v, 1e-6));
    return v;
  };
  const DesignProblem open(brief.space, brief.demands);
  const engine::SearchOutcome any = short_search(open);
  REQUIRE(any.best.front().judged.feasible());
  const double free_v = plate_v(open.design_at(any.best.front().family, any.best.front().x));
  const double wanted_v = 0.85 * free_v;  // away from where it stands by itself
  brief.space.first_plate_v = Range{wanted_v, wanted_v, 0, {}};
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = short_search(problem);
  int feasible = 0;
  for (const engine::Point& p : found.best) {
    if (!p.judged.feasible()) continue;
    CHECK(within_ratio(plate_v(problem.design_at(p.family, p.x)), wanted_v, kNearShare * (1 + 1e-9)));
    ++feasible;
  }
  CHECK(feasible > 0);
}
