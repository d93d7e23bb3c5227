// What a builder could want, what counts as another design, how near a miss comes, and what is given outside
// a rating.
#include "objectives/sensible.h"

#include <doctest/doctest.h>

#include <string>

#include "objectives/ranking.h"
#include "stagemodels/members.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Evaluation solved_with(double balance_pct, double distortion_pct, double headroom_db) {
  Evaluation e;
  e.operating_point.solved = e.at_target.solved = e.clean.solved = Solved::yes;
  e.at_target.balance_pct = balance_pct;
  e.at_target.thd_pct = {distortion_pct, distortion_pct};
  e.clean.swing_peak_v = 30;
  e.clean.headroom_db = headroom_db;
  return e;
}

Brief brief_of(const std::string& text) {
  const auto read = read_brief_text(text, "brief.json", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Brief>(read);
}

/// Behind two EL84 in fixed bias, whose sheet allows 300 kohm.
Brief behind_el84(const std::string& leak) {
  return brief_of(R"({"stage": "long_tailed_pair", "tubes": ["12AX7", "12AU7"],
    "target": {"output_valve_bias_v": -11.6}, "load": {"ohm": ")" +
                  leak + R"(", "output_valve": "EL84"},
    "variables": {"supply_v": 300, "plate_current_a": {"from": "0.4m", "to": "3m"},
                  "plate_ohm": {"from": "47k", "to": "150k"}}})");
}

struct Outcome {
  int feasible = 0;
  int points = 0;
};

/// A grid of lattice points of every family.
Outcome judged_over(const DesignProblem& problem) {
  Outcome out;
  RandomNumbers random{std::mt19937_64(7)};
  Evaluation scratch;
  for (std::size_t f = 0; f < problem.families().size(); ++f)
    for (int n = 0; n < 2000; ++n) {
      std::vector<double> x;
      for (const engine::Axis& axis : problem.families()[f].parts.axes)
        x.push_back(
            axis.levels[static_cast<std::size_t>(random.below(static_cast<int>(axis.levels.size())))]);
      out.feasible += problem.judge(problem.design_at(static_cast<int>(f), x), scratch).feasible() ? 1 : 0;
      ++out.points;
    }
  return out;
}

}  // namespace

TEST_CASE("figures beyond the bounds are not what a builder wants, unless the brief has a limit of its own") {
  const Tube tube = tube_with(kKoren12AX7);
  const Design d = pair_of(tube), given;
  const SensibleBounds bounds;
  const Demands none;
  CHECK(within_bounds(bounds, none, given, d, solved_with(-9.9, 4.9, 0.1)));
  CHECK_FALSE(within_bounds(bounds, none, given, d, solved_with(-40, 1, 6)));
  CHECK_FALSE(within_bounds(bounds, none, given, d, solved_with(1, 17, 6)));
  CHECK_FALSE(within_bounds(bounds, none, given, d, solved_with(1, 1, -0.1)));
  Demands own;
  own.limits.push_back({.figure = find_figure("balance_pct"), .at_most = 50});
  CHECK(within_bounds(bounds, own, given, d, solved_with(-40, 1, 6)));
  SensibleBounds wider;
  wider.distortion_pct = 20;
  CHECK(within_bounds(wider, none, given, d, solved_with(1, 17, 6)));
  Evaluation out_of_reach = solved_with(1, 1, 6);
  out_of_reach.at_target.solved = Solved::target_out_of_reach;
  CHECK_FALSE(within_bounds(bounds, none, given, d, out_of_reach));
}

TEST_CASE("parts that nobody buys for their place are not wanted, unless the brief gives them") {
  const Tube tube = tube_with(kKoren12AX7);
  const SensibleBounds bounds;
  const Evaluation e = solved_with(1, 1, 6);
  Design d = pair_of(tube), given;
  d.bias.ohm = 1;
  CHECK_FALSE(within_bounds(bounds, {}, given, d, e));
  given.bias.ohm = 1;
  CHECK(within_bounds(bounds, {}, given, d, e));
  d = pair_of(tube);
  d.main_supply_v = 400;
  d.dropping_ohm = 10e3;
  CHECK(within_bounds(bounds, {}, given, d, e));  // no reservoir is chosen
  d.reservoir_f = 100e-9;
  CHECK_FALSE(within_bounds(bounds, {}, given, d, e));
  d.reservoir_f = 10e-6;
  CHECK(within_bounds(bounds, {}, given, d, e));
}

TEST_CASE("a miss that breaks two demands by as little as another breaks four comes first") {
  const Nearness two{true, 0.105, 2, 0.21}, four{true, 0.104, 4, 0.40}, far{true, 2, 1, 2};
  CHECK(nearer(two, four));
  CHECK_FALSE(nearer(four, two));
  CHECK(nearer(four, far));  // near in every demand comes before far off in one
  const Nearness outside{false, 0.01, 1, 0.01};
  CHECK(nearer(far, outside));
  CHECK_FALSE(nearer(two, two));
}

TEST_CASE("rails around one set of resistors are one design, another set is another") {
  const Brief brief = brief_of(R"({"stage": "long_tailed_pair", "tubes": ["12AU7"],
    "target": {"swing_peak_v": 20}, "load": {"ohm": "220k"},
    "variables": {"supply_v": 300, "plate_current_a": {"from": "1m", "to": "3m"},
                  "plate_ohm": {"from": "33k", "to": "100k"}, "bias_form": ["negative_rail"],
                  "tail_form": ["constant_current"]}})");
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(problem.families().size() == 1);
  const auto fields = problem.part_fields(0);
  engine::Point a{{}, {}, 0};
  for (const engine::Axis& axis : problem.families().front().parts.axes)
    a.x.push_back(axis.levels[axis.levels.size() / 2]);
  const auto moved = [&](const DesignField& field, int levels) {
    engine::Point b = a;
    for (std::size_t i = 0; i < fields.size(); ++i)
      if (fields[i] == &field) {
        const auto& all = problem.families().front().parts.axes[i].levels;
        b.x[i] = all[static_cast<std::size_t>(static_cast<int>(all.size() / 2) + levels)];
      }
    REQUIRE(b.x != a.x);
    return b;
  };
  CHECK_FALSE(distinct(problem, a, moved(member::bias_rail_v, -1)));
  CHECK_FALSE(distinct(problem, a, moved(member::plate_ohm_0, 1)));
  CHECK(distinct(problem, a, moved(member::plate_ohm_0, 3)));
  engine::Point better = moved(member::bias_rail_v, -1);
  better.judged.objective[0] = 0.6;  // of distortion_pct, whose unit in the score is 1 %
  CHECK(distinct(problem, a, better));
}

TEST_CASE("a leak above what fixed bias allows is told of the brief and turns no design away") {
  const Brief wrong = behind_el84("470k"), right = behind_el84("300k");
  const DesignProblem problem(wrong.space, wrong.demands);
  REQUIRE(problem.outside_as_given().size() == 1);
  const LimitResult& r = problem.outside_as_given().front();
  CHECK(r.name == "load_leak_ohm");
  CHECK(within(r.value, 470e3, 1e-12));
  CHECK(within(r.limit, 300e3, 1e-12));  // Philips EL84 data sheet, fixed bias
  CHECK_FALSE(r.remedy.empty());
  const Outcome all = judged_over(problem);
  CHECK(all.feasible > 0);
  // Held against the brief's own demands, none of them would be.
  CHECK(DesignProblem(right.space, right.demands).outside_as_given().empty());
}

TEST_CASE("a limit that some tube or part keeps is not judged of the brief") {
  Brief brief = behind_el84("220k");
  brief.space.supply_v = {520, 600, 0, {}};  // a cold 12AX7 and 12AU7 bear 550 V
  CHECK(DesignProblem(brief.space, brief.demands).outside_as_given().empty());
  brief.space.supply_v = {600, 600, 0, {}};
  const DesignProblem fixed(brief.space, brief.demands);
  REQUIRE(fixed.outside_as_given().size() == 1);
  CHECK(fixed.outside_as_given().front().name == "plate_cold_v");
}
