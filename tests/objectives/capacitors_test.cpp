// Figures of the linearised stage in a search, and the capacitors that a brief's low frequency asks for.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "objectives/design_problem.h"
#include "optimize/engine/search.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Some designs of real parts that a short search of the brief thinks well of.
std::vector<Design> good_designs(const DesignProblem& problem, bool& met) {
  const engine::SearchOutcome found = engine::search(
      problem.families(),
      {.global_evaluations_per_family = 150, .lattice_evaluations_per_start = 200, .front_directions = 0},
      {.threads = 1}, {}, nullptr);
  std::vector<Design> designs;
  for (std::size_t n = 0; n < std::min<std::size_t>(found.best.size(), 12); ++n)
    designs.push_back(problem.design_at(found.best[n].family, found.best[n].x));
  met = !found.best.empty() && found.best.front().judged.feasible();
  return designs;
}

const LimitResult* row(const std::vector<LimitResult>& rows, std::string_view name) {
  const auto it = std::find_if(rows.begin(), rows.end(), [&](const auto& r) { return r.name == name; });
  return it == rows.end() ? nullptr : &*it;
}

std::vector<LimitResult> rows_of(const DesignProblem& problem, const Design& d) {
  Evaluation e;
  evaluate(d, Depth::everything, e);
  return check_demands(problem.demands(), d, e);
}

}  // namespace

TEST_CASE("figures against frequency are those of the linearised stage") {
  const Tube* tube = shipped().find("12AX7");
  Design d;
  d.tube = {tube, tube};
  d.supply_v = 300;
  d.plate_ohm = {100e3, 110e3};
  d.bias.form = BiasForm::self_biased;
  d.bias.ohm = 820;
  d.tail.ohm = 22e3;
  d.load_ohm = 330e3;
  d.load_f = 30e-12;
  d.source_ohm = 47e3;
  d.coupling_f = 47e-9;
  d.swing_peak_v = 15;
  Evaluation e;
  evaluate(d, Depth::with_frequency, e);
  REQUIRE(e.frequency_known);
  const FrequencyFigures& f = e.frequency;
  const auto value = [&](std::string_view name) { return *find_figure(name)->measure(d, e); };
  REQUIRE((f.low_corner_hz[0] && f.low_corner_hz[1] && f.high_corner_hz[0] && f.high_corner_hz[1]));
  CHECK(value("low_corner_hz") == std::max(*f.low_corner_hz[0], *f.low_corner_hz[1]));
  CHECK(value("high_corner_hz") == std::min(*f.high_corner_hz[0], *f.high_corner_hz[1]));
  CHECK(value("input_f") == f.input_f);
  CHECK(value("balance_20khz_pct") == f.balance[2].amplitude_pct);
  CHECK(value("ripple_difference_v_per_v") == f.ripple_difference_v_per_v);
  CHECK(value("noise_below_target_db") == f.noise.difference_below_target_db);

  d.coupling_f = 0;  // flat to nothing: the end of the range stands for it
  evaluate(d, Depth::with_frequency, e);
  CHECK_FALSE(f.low_corner_hz[0]);
  CHECK(value("low_corner_hz") == FrequencyFigures::kLowest_hz);

  evaluate(d, Depth::full, e);
  for (const char* name : {"low_corner_hz", "high_corner_hz", "input_f", "balance_20khz_pct",
                           "ripple_difference_v_per_v", "noise_below_target_db"})
    CHECK_FALSE(find_figure(name)->measure(d, e));
}

TEST_CASE("behind a dropping resistor there is no ripple figure before there is a reservoir") {
  Design d;
  d.main_supply_v = 350;
  Evaluation e;
  e.frequency_known = true;
  e.frequency.ripple_difference_v_per_v = 0.001;
  const Figure& ripple = *find_figure("ripple_difference_v_per_v");
  CHECK_FALSE(ripple.measure(d, e));
  d.reservoir_f = 10e-6;
  CHECK(ripple.measure(d, e) == 0.001);
}

TEST_CASE("a judgement goes as deep as what is asked") {
  Brief brief = brief_named("rehearsal_room.json");
  CHECK(DesignProblem(brief.space, brief.demands).depth() == Depth::full);  // for the headroom
  Demands demands = brief.demands;
  demands.objectives = {{find_figure("gain"), 1, 20}};
  CHECK(DesignProblem(brief.space, demands).depth() ==
        Depth::at_target);  // for the limits of tubes and parts
  demands.limits = {{find_figure("noise_below_target_db"), std::nullopt, 80}};
  CHECK(DesignProblem(brief.space, demands).depth() == Depth::with_frequency);
  // a low frequency alone is settled afterwards, unless a given capacitor may stand in its way
  brief.space.low_frequency_hz = 10;
  CHECK(DesignProblem(brief.space, brief.demands).depth() == Depth::full);
  brief.space.given.coupling_f = 100e-9;
  CHECK(DesignProblem(brief.space, brief.demands).depth() == Depth::with_frequency);
}

TEST_CASE("a target out of reach breaks a brief whose figures do not tell") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.demands.objectives = {{find_figure("gain"), 1, 20}};
  brief.space.given.swing_peak_v = 500;
  const DesignProblem problem(brief.space, brief.demands);
  const engine::Family& family = problem.families()[0];
  std::vector<double> middle;
  for (const engine::Axis& a : family.ideal.axes) middle.push_back(std::sqrt(a.low * a.high));
  CHECK(family.parts.make_judge()(family.round_to_parts(middle)).violation > 1);
}

TEST_CASE("without given capacitors the low frequency holds for every good design, and none ranks by it") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.demands.objectives = {{find_figure("distortion_pct"), 2, 1}, {find_figure("balance_pct"), 1, 5}};
  bool met = false, met_plain = false;
  const DesignProblem plain(brief.space, brief.demands);
  const std::vector<Design> without = good_designs(plain, met_plain);
  brief.space.low_frequency_hz = 8;
  const DesignProblem problem(brief.space, brief.demands);
  const std::vector<Design> designs = good_designs(problem, met);
  REQUIRE(met);
  REQUIRE(designs.size() == without.size());
  for (std::size_t n = 0; n < designs.size(); ++n) {
    CHECK(designs[n].plate_ohm == without[n].plate_ohm);  // mid-band figures know no capacitors
    CHECK(designs[n].coupling_f == 0);
    const Design d = problem.with_capacitors(designs[n]);
    CHECK(d.coupling_f > 0);
    CHECK(d.grid_bypass_f > 0);
    CHECK((d.input_coupling_f > 0) == (d.bias.form == BiasForm::self_biased));
    for (const double f : {d.coupling_f, d.grid_bypass_f})
      CHECK(within_ratio(engine::nearest(engine::Series::e6, f), f, 1e-9));
    const std::vector<LimitResult> rows = rows_of(problem, d);
    const LimitResult* low = row(rows, "low_corner_hz");
    REQUIRE(low);
    CHECK(low->kept);
    CHECK(low->limit == 8);
  }
}

TEST_CASE("a given capacitor that makes the low frequency impossible is told for each candidate") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.low_frequency_hz = 5;
  brief.space.given.coupling_f = 10e-9;  // 1 / (2 pi 10n (150k + Zo)), Zo < 100k: above 60 Hz
  const DesignProblem problem(brief.space, brief.demands);
  bool met = true;
  for (const Design& raw : good_designs(problem, met)) {
    const Design d = problem.with_capacitors(raw);
    CHECK(d.coupling_f == 10e-9);
    const std::vector<LimitResult> rows = rows_of(problem, d);
    const LimitResult* low = row(rows, "low_corner_hz");
    REQUIRE(low);
    CHECK_FALSE(low->kept);
    CHECK(low->value > 60);
  }
  CHECK_FALSE(met);
}

TEST_CASE("a judgement with figures against frequency is that of the design with its capacitors") {
  const Brief brief = brief_named("bass_player.json");
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(problem.depth() == Depth::with_frequency);
  bool met = false;
  const std::vector<Design> designs = good_designs(problem, met);
  CHECK(met);
  for (const Design& raw : designs) {
    Evaluation scratch, e;
    const engine::Judged judged = problem.judge(raw, scratch);
    const Design d = problem.with_capacitors(raw);
    CHECK(d.coupling_f == 220e-9);
    CHECK(d.grid_bypass_f > 0);
    evaluate(d, Depth::everything, e);
    CHECK(judged.cost == *score(problem.demands(), d, e));
    CHECK(judged.violation == demand_violation(problem.demands(), d, e));
    for (const LimitResult& r : check_demands(problem.demands(), d, e)) CHECK((r.kept || !judged.feasible()));
  }
}
