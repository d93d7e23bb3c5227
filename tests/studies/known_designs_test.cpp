// What a search writes, the next one can go on from and set its own beside.
#include <doctest/doctest.h>

#include "optimize/studies/known_designs.h"
#include "optimize/studies/other_results.h"
#include "optimize/studies/search_report.h"
#include "results/json/design_json.h"
#include "results/writers/candidates_json.h"
#include "tests/support/shipped_briefs.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

engine::SearchOptions short_search() {
  engine::SearchOptions o;
  o.global_evaluations_per_family = 120;
  o.lattice_starts_per_family = 2;
  o.lattice_evaluations_per_start = 300;
  o.front_directions = 4;
  o.front_kept = 6;
  o.cloud_kept = 0;
  return o;
}

}  // namespace

TEST_CASE(
    "designs of a report are known again out of its text, and refused for another brief or a damaged text") {
  Brief brief = brief_named("low_supply.json");
  brief.space.tubes = {shipped().find("12AT7")};
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found =
      engine::search(problem.families(), short_search(), {.threads = 2}, {}, nullptr);
  Report report = make_report(brief, problem, found);
  report.run.brief_digest = brief.digest;
  REQUIRE(!report.candidates.empty());
  const std::string text = candidates_json(report);

  const auto known = known_designs(text, "x", brief.digest, shipped(), problem);
  REQUIRE(std::holds_alternative<std::vector<engine::Point>>(known));
  const auto& points = std::get<std::vector<engine::Point>>(known);
  REQUIRE(points.size() == report.candidates.size() + report.pareto.size());
  for (std::size_t n = 0; n < report.candidates.size(); ++n)
    CHECK(design_json(problem.with_capacitors(problem.design_at(points[n].family, points[n].x))) ==
          design_json(report.candidates[n].design));
  CHECK(std::holds_alternative<Trouble>(known_designs(text, "x", "other", shipped(), problem)));
  CHECK(std::holds_alternative<Trouble>(
      known_designs(text.substr(0, text.size() / 2), "x", brief.digest, shipped(), problem)));

  const auto other = other_results(text, "x", shipped());
  REQUIRE(std::holds_alternative<OtherResults>(other));
  const Against beside = against(std::get<OtherResults>(other), report);
  CHECK(beside.same_task);
  CHECK(beside.lead.total == 0);  // over itself
  CHECK(std::holds_alternative<Trouble>(other_results("{}", "x", shipped())));
}
