// Every combination, without a process: slices that are put together are the whole, findings go through their
// text unharmed, and what does not belong together is told.
#include <doctest/doctest.h>

#include <atomic>

#include "optimize/studies/complete/complete_search.h"
#include "optimize/studies/complete/work_ahead.h"
#include "tests/support/shipped_briefs.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Few values of the parts of one tube, so that going through all takes a second.
Brief small_brief() {
  Brief brief = brief_named("low_supply.json");
  brief.space.tubes = {shipped().find("12AT7")};
  brief.space.bias_forms = {BiasForm::self_biased};
  brief.space.resistor_series = engine::Series::e6;
  return brief;
}

CompleteOutcome gone_through(const Brief& brief, const DesignProblem& problem, int slice, int slices,
                             engine::CompleteFindings from = {}, const std::atomic<bool>& stop = false) {
  const auto keep = [](const std::string&) -> std::optional<Trouble> { return std::nullopt; };
  const auto outcome = search_every_combination(problem, identity_of(brief, problem, slice, slices),
                                                std::move(from), 2, {}, stop, keep);
  REQUIRE(std::holds_alternative<CompleteOutcome>(outcome));
  return std::get<CompleteOutcome>(outcome);
}

CompleteRead read_back(const CompleteOutcome& outcome, const Brief& brief, const DesignProblem& problem) {
  const auto read = read_complete(outcome.file, problem, identity_of(brief, problem, 1, 1));
  if (const auto* trouble = std::get_if<Trouble>(&read)) FAIL(trouble->what);
  return std::get<CompleteRead>(read);
}

std::string trouble_of(const std::optional<Trouble>& trouble) {
  return trouble ? trouble->what : "none";
}

}  // namespace

TEST_CASE("slices read from their texts and put together are the search of the whole, text for text") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  REQUIRE(!problem.families().empty());
  const CompleteOutcome whole = gone_through(brief, problem, 1, 1);
  CHECK(whole.finished);
  CHECK(static_cast<double>(whole.record.covered) == engine::combinations(problem.families()));
  Slices slices;
  for (int slice = 3; slice >= 1; --slice)
    CHECK(!slices.add(read_back(gone_through(brief, problem, slice, 3), brief, problem), "x"));
  const auto merged = slices.merged(problem, identity_of(brief, problem, 1, 1));
  REQUIRE(std::holds_alternative<CompleteOutcome>(merged));
  CHECK(std::get<CompleteOutcome>(merged).record.covered == whole.record.covered);
  const CompleteRead together = read_back(std::get<CompleteOutcome>(merged), brief, problem);
  const CompleteRead at_once = read_back(whole, brief, problem);
  CHECK(together.findings.coverage == at_once.findings.coverage);
  REQUIRE(together.findings.best.size() == at_once.findings.best.size());
  for (std::size_t n = 0; n < at_once.findings.best.size(); ++n)
    CHECK(together.findings.best[n].x == at_once.findings.best[n].x);
  CHECK(together.findings.front.size() == at_once.findings.front.size());
}

TEST_CASE("slices that do not go together are told, each with its file") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  const CompleteRead first = read_back(gone_through(brief, problem, 1, 3), brief, problem);
  Slices slices;
  CHECK(!slices.add(first, "a/complete.json"));
  CHECK(trouble_of(slices.add(first, "b/complete.json")) == "b/complete.json: slice 1 is there twice");
  CHECK(trouble_of(slices.add(read_back(gone_through(brief, problem, 1, 2), brief, problem), "c")) ==
        "c: slice 1/2 does not go with slices of 3");
  CompleteRead unfinished = first;
  unfinished.findings.chunks_done = 0;
  CHECK(trouble_of(slices.add(unfinished, "d")) ==
        "d: this slice is not finished; go on with it first (--continue)");
  const auto merged = slices.merged(problem, identity_of(brief, problem, 1, 1));
  REQUIRE(std::holds_alternative<Trouble>(merged));
  CHECK(!std::get<Trouble>(merged).of_files);
  const auto wrong = findings_of(first, identity_of(brief, problem, 2, 3), "e");
  REQUIRE(std::holds_alternative<Trouble>(wrong));
  CHECK(std::get<Trouble>(wrong).what == "e: holds slice 1/3, not the one asked for");
}

TEST_CASE(
    "a search that is stopped goes on from its text to the same end, findings of another brief are none") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  const std::atomic<bool> stopped = true;
  const CompleteOutcome nothing_yet = gone_through(brief, problem, 1, 1, {}, stopped);
  CHECK(!nothing_yet.finished);
  const CompleteOutcome on =
      gone_through(brief, problem, 1, 1, read_back(nothing_yet, brief, problem).findings);
  CHECK(on.file == gone_through(brief, problem, 1, 1).file);
  for (const bool of_brief : {true, false}) {
    CompleteIdentity other = identity_of(brief, problem, 1, 1);
    (of_brief ? other.brief_digest : other.lattice_digest) += "0";
    CHECK(std::holds_alternative<Trouble>(read_complete(on.file, problem, other)));
  }
  CHECK(std::holds_alternative<Trouble>(read_complete("{", problem, identity_of(brief, problem, 1, 1))));
}

TEST_CASE("nothing speaks against few combinations") {
  const Brief brief = small_brief();
  const DesignProblem problem(brief.space, brief.demands);
  CHECK(engine::combinations(problem.families()) <= kManyCombinations);
  CHECK(too_many(problem, 1, 1, false).empty());
}
