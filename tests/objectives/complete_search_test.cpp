// What the complete search leaves out must hold nothing: its steps and its dropped blocks against plain
// judging.
#include <doctest/doctest.h>

#include <cmath>
#include <map>

#include "objectives/design_problem.h"
#include "optimize/engine/lattice/levels.h"
#include "tests/objectives/each_of_block.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// A drawn brief of every bias and tail form, tubes of every kind, tight or loose in its sizing inputs.
Brief drawn_brief(RandomNumbers& random) {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  const std::array names{"6SN7GT", "12AU7", "12AT7", "12AX7", "ECC85", "6SL7GT"};
  s.tubes = {shipped().find(names[static_cast<std::size_t>(random.below(6))])};
  s.bias_forms = {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};
  s.tail_forms = {TailForm::resistor, TailForm::constant_current};
  const double supply = random.between(200, 380);
  s.supply_v = {supply, supply + 60, 20, {}};
  s.tail_fraction = {random.between(0.05, 0.3), random.between(0.3, 0.5), 0, {}};
  const double current = random.log_between(0.6e-3, 4e-3);
  s.plate_current_a = {0.8 * current, 1.25 * current, 0, {}};
  const double ohm = random.between(0.25, 0.5) * supply / current;
  s.plate_ohm = {0.6 * ohm, 1.6 * ohm, 0, {}};
  s.given.heater_v = random.below(2) ? random.between(0, 80) : 0;
  s.given.swing_peak_v = random.between(10, 40);
  s.given.source_ohm = random.below(2) ? 10e3 : 0;
  if (random.below(3) == 0)
    brief.demands.limits.push_back({find_figure("cathode_v"), random.between(30, 120)});
  return brief;
}

}  // namespace

TEST_CASE("a step that turns a design away is right, and one that lets it pass judges the same") {
  RandomNumbers random{std::mt19937_64(5)};
  std::map<int, int> at_stage;
  for (int n = 0; n < 12; ++n) {
    const Brief brief = drawn_brief(random);
    const DesignProblem problem(brief.space, brief.demands);
    Evaluation scratch;
    for (std::size_t f = 0; f < problem.families().size(); ++f) {
      const engine::Problem& lattice = problem.families()[f].parts;
      std::vector<double> x(lattice.axes.size());
      for (int m = 0; m < 150; ++m) {
        for (std::size_t i = 0; i < x.size(); ++i)
          x[i] = lattice.axes[i].levels[static_cast<std::size_t>(
              random.below(static_cast<int>(lattice.axes[i].levels.size())))];
        const Design design = problem.design_at(static_cast<int>(f), x);
        const engine::StagedJudgement staged = problem.judge_staged(design, scratch);
        const engine::Judged judged = problem.judge(design, scratch);
        ++at_stage[staged.stage];
        if (staged.stage < static_cast<int>(lattice.stages.size())) {
          CHECK(!judged.feasible());
        } else {
          CHECK(staged.judged.cost == judged.cost);
          CHECK(staged.judged.violation == judged.violation);
          CHECK(staged.judged.objective == judged.objective);
        }
      }
    }
  }
  MESSAGE("turned away by parts alone ", at_stage[0], ", at rest ", at_stage[1], ", in small signal ",
          at_stage[2], ", at the target ", at_stage[3], "; judged whole ", at_stage[4]);
  CHECK(at_stage[0] > 500);
  CHECK(at_stage[1] > 500);
  CHECK(at_stage[3] > 20);
  CHECK(at_stage[4] > 50);
}

TEST_CASE("a block that is dropped holds no feasible design") {
  RandomNumbers random{std::mt19937_64(6)};
  int dropped = 0, dropped_by_corners = 0, asked = 0, feasible = 0;
  for (int n = 0; n < 40; ++n) {
    Brief brief = drawn_brief(random);
    if (n % 4 == 3) brief.space.plate_ohm_ratio = {0.5, 2, 0, {}};  // so that more is left to the corners
    const DesignProblem problem(brief.space, brief.demands);
    Evaluation scratch;
    for (std::size_t f = 0; f < problem.families().size(); ++f) {
      const int family = static_cast<int>(f);
      const engine::Problem& lattice = problem.families()[f].parts;
      for (int m = 0; m < 12; ++m) {
        engine::Levels low, high;
        std::vector<double> low_x(lattice.axes.size()), high_x(low_x.size()), x(low_x.size());
        const int wide = 1 + random.below(3);
        for (const engine::Axis& axis : lattice.axes) {
          const int all = static_cast<int>(axis.levels.size());
          low.push_back(random.below(all));
          high.push_back(std::min(all - 1, low.back() + random.below(1 + wide)));
        }
        engine::values_of(lattice, low, low_x);
        engine::values_of(lattice, high, high_x);
        ++asked;
        const bool by_parts = problem.none_feasible(family, low_x, high_x, 1, scratch);
        const bool by_corners = problem.none_feasible(family, low_x, high_x, 1e6, scratch);
        CHECK((!by_parts || by_corners));
        dropped += by_parts;
        dropped_by_corners += by_corners && !by_parts;
        testing::each_of_block(low, high, [&](const engine::Levels& at) {
          engine::values_of(lattice, at, x);
          const bool good = problem.judge(problem.design_at(family, x), scratch).feasible();
          feasible += good;
          if (good) CHECK(!by_corners);
        });
      }
    }
  }
  MESSAGE(asked, " blocks: ", dropped, " dropped by their parts alone, ", dropped_by_corners,
          " by their corners; ", feasible, " feasible designs in the rest");
  CHECK(dropped > 100);
  CHECK(dropped_by_corners > 300);
  CHECK(feasible > 300);
}

TEST_CASE("each corner bounds every design of its block") {
  // cathode, current, grid and tail of random designs inside a block against the demands set just outside
  // what a dropped block claims: a demand at a design's own figure is never called out of reach
  RandomNumbers random{std::mt19937_64(7)};
  int asked = 0;
  for (int n = 0; n < 600; ++n) {
    const Brief brief = drawn_brief(random);
    const Tube& tube = *brief.space.tubes[0];
    const BiasForm bias = static_cast<BiasForm>(random.below(3));
    const TailForm tail = static_cast<TailForm>(random.below(2));
    Design low = pair_of(tube, bias, tail);
    low.supply_v = random.between(150, 350);
    low.plate_ohm = {random.log_between(20e3, 200e3), random.log_between(20e3, 200e3)};
    low.bias.ohm = random.log_between(300, 5e3);
    low.bias.grid_v = random.between(20, 90);
    low.bias.rail_v = bias == BiasForm::negative_rail ? -random.between(60, 200) : 0;
    low.tail.ohm = random.log_between(10e3, 100e3);
    low.tail.current_a = random.log_between(0.3e-3, 4e-3);
    Design high = low, inside = low;
    const auto span = [&](double& at_low, double& at_high, double& at_inside) {
      at_high = at_low + std::abs(at_low) * random.between(0, 0.4);
      at_inside = random.between(at_low, at_high);
    };
    span(low.supply_v, high.supply_v, inside.supply_v);
    span(low.plate_ohm[0], high.plate_ohm[0], inside.plate_ohm[0]);
    span(low.plate_ohm[1], high.plate_ohm[1], inside.plate_ohm[1]);
    span(low.bias.ohm, high.bias.ohm, inside.bias.ohm);
    span(low.bias.grid_v, high.bias.grid_v, inside.bias.grid_v);
    if (bias == BiasForm::negative_rail) span(low.bias.rail_v, high.bias.rail_v, inside.bias.rail_v);
    span(low.tail.ohm, high.tail.ohm, inside.tail.ohm);
    span(low.tail.current_a, high.tail.current_a, inside.tail.current_a);
    Evaluation e;
    evaluate(inside, Depth::rest, e);
    const OperatingPoint at = e.operating_point;
    if (at.solved != Solved::yes) continue;
    const auto kept = [&](const Limit& limit) {
      for (int i = 0; i < 2; ++i)
        if (const auto r = limit.check(inside, e, {}, i); r && !r->kept) return false;
      return true;
    };
    bool all_kept = true;
    for (const Limit& limit : limits())
      if (limit.needs == Depth::rest) all_kept &= kept(limit);
    if (!all_kept) continue;
    ++asked;
    for (const auto& [figure, value] :
         std::map<std::string_view, double>{{"plate_current_a", at.supply_current_a / 2},
                                            {"supply_current_a", at.supply_current_a},
                                            {"tail_fraction", at.tail_fraction},
                                            {"cathode_v", at.cathode_v}}) {
      for (const bool most : {false, true}) {
        Demands demands;
        FigureLimit limit{find_figure(figure)};
        (most ? limit.at_most : limit.at_least) = value;
        demands.limits = {limit};
        const auto& told = figure;  // clang before 16 cannot capture a structured binding
        CAPTURE(told);
        CHECK(!BlockTest(demands).none_feasible(low, high, BlockTest::Corners::solved, e));
      }
    }
  }
  MESSAGE(asked, " designs inside blocks");
  CHECK(asked > 100);
}
