// The bridge: sizing inputs become real parts, and the parts suit each other.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "objectives/design_problem.h"
#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "optimize/engine/search.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/sizing_inputs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("a sizing input is found by its name and by the part that it gives, and by no other") {
  int parts = 0;
  for (const SizingInputRow& row : kSizingInputRows) {
    CAPTURE(row.name);
    CHECK(&row_of(row.input) == &row);
    CHECK(sizing_input_named(row.name) == &row);
    if (row.part) CHECK(row_that_gives(*row.part) == &row);
    parts += row.part != nullptr;
  }
  CHECK(sizing_input_named("tail_ohm") == nullptr);
  CHECK(std::count_if(design_fields().begin(), design_fields().end(),
                      [](const DesignField& field) { return row_that_gives(field) != nullptr; }) == parts);
}

TEST_CASE("parts come from the series, from the list, or from the step that the brief names") {
  Brief brief = brief_named("rehearsal_room.json");
  DesignSpace& s = brief.space;
  Design base = s.given;
  base.tube = {s.tubes[0], s.tubes[0]};
  base.bias.form = BiasForm::self_biased;
  auto axis = [&](const DesignField& part) {
    for (const PartAxis& a : part_axes(s, base))
      if (a.field == &part) return a.levels;
    return std::vector<double>{};
  };
  for (const DesignField* part :
       {&member::plate_ohm_0, &member::plate_ohm_1, &member::bias_ohm, &member::tail_ohm})
    for (double v : axis(*part)) CHECK(within_ratio(engine::nearest(engine::Series::e24, v), v, 1e-12));
  CHECK(axis(member::supply_v).size() == 11);
  CHECK(axis(member::supply_v).front() == 300);
  CHECK(axis(member::supply_v).back() == 400);
  CHECK(axis(member::plate_ohm_0).front() == 22e3);
  CHECK(axis(member::plate_ohm_0).back() == 220e3);
  s.plate_ohm = {47e3, 100e3, 0, {47e3, 68e3, 100e3}};
  CHECK(axis(member::plate_ohm_0) == std::vector<double>{47e3, 68e3, 100e3});
  CHECK(axis(member::plate_ohm_1) == std::vector<double>{47e3, 68e3, 100e3});
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

  RandomNumbers random{std::mt19937_64(4)};
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
      const std::vector<double> x = drawn_sizing_inputs(family, random);
      const std::vector<double> snapped = family.round_to_parts(x);
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
    const std::vector<double> middle = middle_sizing_inputs(family);
    const Design d = problem.design_at(0, family.round_to_parts(middle));
    CHECK(d.bias.grid_clamp == clamp);
    // without them the grids of the 6SN7GT, for which no rating is published, stand at 300 V or more against
    // 50 V
    CHECK((problem.judge(d, scratch).violation > 5) == !clamp);
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
  RandomNumbers random{std::mt19937_64(15)};
  int found = 0;
  for (std::size_t f = 0; f < problem.families().size(); ++f)
    for (int n = 0; n < 40; ++n) {
      std::vector<double> x;
      for (const engine::Axis& a : problem.families()[f].parts.axes)
        x.push_back(a.levels[random.below(static_cast<int>(a.levels.size()))]);
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
      const auto in_other = problem.lattice_point(other);
      CHECK((!in_other || problem.design_at(in_other->family, in_other->x).bias.form == other.bias.form));
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
  s.plate_ohm = {
      22e3, 220e3, 0, {22e3, 47e3, 100e3, 220e3}};  // far apart, so that snapping moves the sizing input
  s.plate_ohm_ratio = {1, 1, 0, {}};
  const DesignProblem problem(s, brief.demands);
  REQUIRE_FALSE(problem.families().empty());
  RandomNumbers random{std::mt19937_64(38)};
  int tried = 0;
  double worst = 0;
  Evaluation e;
  for (std::size_t f = 0; f < problem.families().size(); ++f) {
    const engine::Family& family = problem.families()[f];
    for (int n = 0; n < 200; ++n) {
      // supply, share of the tail, plate current, plate resistors and their ratio
      const std::vector<double> x = drawn_sizing_inputs(family, random);
      const auto input = [&](std::string_view name) {
        for (std::size_t i = 0; i < x.size(); ++i)
          if (family.ideal.axes[i].name == name) return x[i];
        FAIL("no such wish");
        return 0.0;
      };
      const std::vector<double> snapped = family.round_to_parts(x);
      if (snapped.empty()) continue;
      const Design d = problem.design_at(static_cast<int>(f), snapped);
      // What would suit exactly; that plate resistor can be too much for that current, then nothing does.
      Design sized = d;
      if (size_stage({.supply_v = d.supply_v,
                      .tail_fraction = input("tail_fraction"),
                      .plate_current_a = input("plate_current_a"),
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

TEST_CASE("the parts that a search varies leave no part of a candidate open") {
  for (const char* name :
       {"rehearsal_room.json", "first_stage.json", "shared_main_supply.json", "out_of_the_drawer.json",
        "chain_direct_coupled.json", "chain_capacitor_coupled.json", "trimmed_balance.json"}) {
    CAPTURE(name);
    const Brief brief = brief_named(name);
    const DesignProblem problem(brief.space, brief.demands);
    REQUIRE(!problem.families().empty());
    for (std::size_t f = 0; f < problem.families().size(); ++f) {
      const engine::Family& family = problem.families()[f];
      CAPTURE(family.name);
      const std::vector<engine::Axis>& axes = family.parts.axes;
      std::vector<double> x;
      for (const engine::Axis& a : axes) x.push_back(a.levels.front());
      const Design d = problem.design_at(static_cast<int>(f), x);
      for (const DesignField& field : design_fields()) {
        CAPTURE(field.pointer);
        // what a file must have is there, in the range that a file may have
        if (field.required && field.applies(d)) {
          CHECK(field.value(d) >= field.low);
          CHECK(field.value(d) <= field.high);
        }
        // and nothing is varied that means nothing in this form
        const auto varied = std::count_if(axes.begin(), axes.end(),
                                          [&](const engine::Axis& a) { return a.name == field.pointer; });
        CHECK(varied <= (field.applies(d) ? 1 : 0));
      }
      for (const engine::Axis& a : axes) CHECK(std::is_sorted(a.levels.begin(), a.levels.end()));
    }
  }
}

TEST_CASE("a first plate that the next grids hang on is given no current of its own to choose") {
  for (const char* name : {"chain_direct_coupled.json", "chain_capacitor_coupled.json"}) {
    const Brief brief = brief_named(name);
    const DesignProblem problem(brief.space, brief.demands);
    for (const engine::Family& family : problem.families()) {
      CAPTURE(family.name);
      const bool direct = family.name.find("direct_coupled") != std::string::npos;
      const auto& axes = family.ideal.axes;
      CHECK(std::none_of(axes.begin(), axes.end(),
                         [](const engine::Axis& a) { return a.name == "first_plate_current_a"; }) == direct);
    }
  }
}

TEST_CASE("a chain is sized to what is wished, and its parts lie on the lattice") {
  for (const char* name :
       {"chain_direct_coupled.json", "chain_capacitor_coupled.json", "chain_high_gain.json"}) {
    CAPTURE(name);
    const Brief brief = brief_named(name);
    const DesignProblem problem(brief.space, brief.demands);
    CHECK(problem.left_out().empty());
    REQUIRE(!problem.families().empty());
    RandomNumbers random{std::mt19937_64(7)};
    int judged = 0, feasible = 0;
    for (const engine::Family& family : problem.families()) {
      engine::Judge parts = family.parts.make_judge();
      for (int n = 0; n < 60; ++n) {
        const std::vector<double> x = drawn_sizing_inputs(family, random);
        const std::vector<double> snapped = family.round_to_parts(x);
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
