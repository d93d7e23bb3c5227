#include "results/describe/tube_ranking.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "results/json/tube_ranking_json.h"
#include "results/terminal/tube_ranking_text.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

Tube named(const std::string& name) {
  Tube t = sample::tube_12ax7();
  t.name = name;
  return t;
}

TubeTrial trial(const Tube& tube, std::optional<double> score, double violation = 0) {
  TubeTrial t;
  t.tube = &tube;
  t.best = sample::record(sample::self_biased_pair(tube));
  t.best->score = score;
  t.best->feasible = violation == 0;
  t.violation = violation;
  return t;
}

}  // namespace

TEST_CASE("met tubes by score then name, misses by how far they miss, tubes without a design last") {
  const Tube a = named("a"), b = named("b"), c = named("c"), d = named("d"), e = named("e"), f = named("f");
  TubeRanking ranking;
  ranking.demands.objectives = {{find_figure("distortion_pct"), 1, 1}};
  ranking.tubes = 7;
  TubeTrial none;
  none.tube = &f;
  none.stands_in_the_way = {"no standard value for its plate resistor"};
  ranking.trials = {none,          trial(e, 0.1, 2.0), trial(d, 0.1, 0.5),
                    trial(c, 0.7), trial(b, 0.2),      trial(a, 0.7)};
  rank_trials(ranking);
  std::string order;
  for (const TubeTrial& t : ranking.trials) order += t.tube->name;
  CHECK(order == "bacdef");
  CHECK(ranking.trials[0].best->rank == 1);
  CHECK(ranking.trials[2].best->rank == 3);
  CHECK(ranking.trials[3].best->rank == 0);

  const std::string text = tube_ranking_text(ranking);
  CHECK(text.find("Interrupted: 6 of 7 tubes were tried") != std::string::npos);
  CHECK(text.find("f - no standard value for its plate resistor.") != std::string::npos);
  const auto json = nlohmann::json::parse(tube_ranking_json(ranking));
  CHECK(json["complete"] == false);
  CHECK(json["tubes"][5]["design"].is_null());
  CHECK(json["tubes"][5]["score"].is_null());
  CHECK(json["tubes"][3]["rank"].is_null());
}

TEST_CASE("a rank is in doubt where the next tube comes first under some law") {
  const Tube a = named("a"), b = named("b");
  TubeRanking ranking;
  ranking.tubes = 2;
  ranking.demands.objectives = {{find_figure("distortion_pct"), 1, 1}};
  ranking.trials = {trial(a, 0.2), trial(b, 0.3)};
  const auto band = [](TubeTrial& t, double first, double second) {
    t.best->bands.laws = 2;
    t.best->bands.score = {first, second};
    t.best->bands.feasible = {true, true};
  };
  band(ranking.trials[0], 0.2, 0.25);
  band(ranking.trials[1], 0.3, 0.4);
  rank_trials(ranking);
  CHECK_FALSE(ranking.trials[0].best->rank_in_doubt);
  band(ranking.trials[0], 0.2, 0.5);
  rank_trials(ranking);
  CHECK(ranking.trials[0].best->rank_in_doubt);
  CHECK(tube_ranking_text(ranking).find("1?") != std::string::npos);
  CHECK(tube_ranking_text(ranking).find("2?") == std::string::npos);
}

TEST_CASE("a miss is explained by the limits it breaks, each remedy once") {
  const Tube a = named("a");
  TubeTrial t = trial(a, 0.1, 0.4);
  t.best->limits.clear();
  LimitResult broken{};
  broken.label = "grid leak";
  broken.unit = "ohm";
  broken.value = 1e6;
  broken.limit = 0.5e6;
  broken.known = true;
  broken.kept = false;
  broken.margin_pct = -100;
  broken.remedy = "Take a smaller grid leak.";
  broken.section = 1;
  t.best->limits.push_back(broken);
  broken.section = 2;
  t.best->limits.push_back(broken);
  broken.kept = true;
  broken.label = "kept";
  t.best->limits.push_back(broken);
  explain_miss(t);
  REQUIRE(t.stands_in_the_way.size() >= 2);
  const auto& words = t.stands_in_the_way;
  CHECK(words[words.size() - 2] == "grid leak, section 1: 1 MΩ, allowed is ≤ 500 kΩ");
  CHECK(t.what_helps == std::vector<std::string>{"Take a smaller grid leak."});
}
