#include "results/writers/candidates_json.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "results/describe/safety.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;
using nlohmann::ordered_json;

TEST_CASE("candidates.json has the members of the contract, in order of rank") {
  const Report report = sample::report();
  const auto j = ordered_json::parse(candidates_json(report));
  REQUIRE(j.at("candidates").size() == report.candidates.size());
  CHECK(j.at("safety") == kSafetyLine);
  int rank = 0;
  for (const auto& c : j["candidates"]) {
    for (const char* name : {"rank", "score", "feasible", "figures", "design", "evaluation"})
      CHECK_MESSAGE(c.contains(name), name);
    CHECK(c["rank"] == ++rank);
  }
  CHECK(j["candidates"][0]["figures"].size() == figures().size());
  CHECK(j.at("pareto").size() == report.pareto.size());
  CHECK(j["pareto"][0].at("design").at("stage") == "long_tailed_pair");
  for (const char* name :
       {"brief_digest", "seed", "versions", "evaluations_asked", "evaluations_made", "why_stopped"})
    CHECK_MESSAGE(j.at("run").contains(name), name);
}

TEST_CASE("times are the last member, and all that differs between two runs") {
  Report a = sample::report(), b = a;
  b.run.times = {99, 98, 8, "2030-12-31T23:59:59Z"};
  const std::string text_a = candidates_json(a), text_b = candidates_json(b);
  CHECK(text_a != text_b);
  CHECK(text_a.substr(0, text_a.find("\"times\"")) == text_b.substr(0, text_b.find("\"times\"")));
  const auto run = ordered_json::parse(text_a)["run"];
  CHECK(run.items().begin().key() == "brief_file");
  std::string last;
  for (const auto& [key, _] : run.items()) last = key;
  CHECK(last == "times");
}

TEST_CASE("a report without any design is still a valid file") {
  const auto j = ordered_json::parse(candidates_json({}));
  CHECK(j["candidates"].empty());
  CHECK(j["pareto"].empty());
}

TEST_CASE("bad numbers never reach the file") {
  Report report = sample::report();
  Record& r = report.candidates[0];
  r.score = std::nan("");
  r.figures[0] = INFINITY;
  r.evaluation.at_target.thd_pct[0] = std::nan("");
  r.limits[0].margin_pct = -INFINITY;
  const std::string text = candidates_json(report);
  CHECK(text.find("nan") == std::string::npos);
  CHECK(text.find("inf") == std::string::npos);
  CHECK(ordered_json::parse(text)["candidates"][0]["score"].is_null());
}
