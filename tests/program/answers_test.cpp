// What a search answers beyond a list: why, what conflicts, steps along the front, parts on hand,
// comparisons.
#include <doctest/doctest.h>

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "tests/support/program.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kBriefs = ANTIPHASE_SOURCE "/configs/briefs/";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

json brief_named(const std::string& name) {
  json brief = json::parse(read_text(kBriefs + name));
  brief.erase("$schema");
  return brief;
}

json results(const std::filesystem::path& folder) {
  json document = json::parse(read_text(folder / "candidates.json"));
  document.at("run").erase("times");
  return document;
}

Answer search(const Folder& folder, const json& brief, const std::string& name,
              const std::string& more = "") {
  write_text(folder / (name + ".json"), brief.dump(1));
  return run("search -q " + (folder / (name + ".json")).string() + " --out " + (folder / name).string() +
             " " + more);
}

}  // namespace

TEST_CASE("an unmeetable brief is told what conflicts, and each side holds when it is taken at its word") {
  Folder folder;
  json brief = brief_named("low_supply.json");
  brief.erase("rail_v");
  brief["tubes"] = {"12AX7"};
  brief["variables"]["bias_form"] = {"self_biased"};
  brief["search"] = {{"effort", "quick"}, {"candidates", 3}};
  // Much gain and a low output impedance: with a 12AX7 each can be had, both cannot.
  brief["limits"] = json::parse(R"([{"figure": "output_impedance_ohm", "at_most": "40k"},
                                    {"figure": "gain", "at_least": 26}])");
  const Answer answer = search(folder, brief, "both");
  CHECK(answer.code == 1);
  CHECK(has(answer.out, "What conflicts"));
  const json conflict = results(folder / "both").at("conflict");
  const json& sides = conflict.at("demands");
  REQUIRE(sides.size() >= 2);
  CHECK(conflict.at("searches").get<int>() <= 40);
  // Minimal: any one of them left out, the others can be met.
  for (std::size_t left_out = 0; left_out < sides.size(); ++left_out) {
    const std::string demand = sides[left_out].at("demand");
    CAPTURE(demand);
    CHECK(sides[left_out].contains("design"));
    CHECK(!sides[left_out].at("shortfall").get<std::string>().empty());
    json without = brief;
    json limits = json::array();
    for (const json& limit : brief["limits"])
      if (!has(demand, limit["figure"] == "gain" ? "gain" : "output impedance")) limits.push_back(limit);
    if (limits.size() == brief["limits"].size()) continue;  // a rating, a range or the swing
    without["limits"] = limits;
    CHECK(search(folder, without, "without" + std::to_string(left_out)).code == 0);
  }
  // Loosened to what was reached, the brief can be met.
  for (const json& side : sides) {
    const bool of_gain = has(side.at("demand"), "gain");
    if (!of_gain && !has(side.at("demand"), "output impedance")) continue;
    const std::string figure = of_gain ? "gain" : "output_impedance_ohm";
    const double reached = side.at("figures").at(figure);
    json loose = brief;
    for (json& limit : loose["limits"])
      if (limit["figure"] == figure)
        limit[of_gain ? "at_least" : "at_most"] = reached * (of_gain ? 0.999 : 1.001);
    CHECK(search(folder, loose, "loose_" + figure).code == 0);
  }
  // The same whatever the number of threads.
  search(folder, brief, "both", "--threads 1");
  const json one = results(folder / "both");
  search(folder, brief, "both", "--threads 3");
  CHECK(one == results(folder / "both"));
}

TEST_CASE("the swing counts as a demand: taken down to what was reached the brief is met" *
          doctest::test_suite("long")) {
  Folder folder;
  json brief = brief_named("cannot_be_met.json");
  const Answer answer = search(folder, brief, "much");
  CHECK(answer.code == 1);
  const json sides = results(folder / "much").at("conflict").at("demands");
  bool swing = false;
  for (const json& side : sides)
    if (has(side.at("demand"), "target swing of 70 V peak")) {
      swing = true;
      const double reached = side.at("design").at("swing_peak_v");
      CHECK(reached < 70);
      CHECK(reached > 7);
      brief["target"]["swing_peak_v"] = reached;
      CHECK(search(folder, brief, "less").code == 0);
    }
  CHECK(swing);
  CHECK(has(read_text(folder / "much" / "report.html"), "What conflicts"));
}

TEST_CASE("the best says why: limits, lead, steps, and what would have to give") {
  Folder folder;
  json brief = brief_named("rehearsal_room.json");
  brief["search"]["effort"] = "quick";
  const Answer answer = search(folder, brief, "r", "--explain");
  CHECK(answer.code == 0);
  for (const char* part : {"Why the first is first", "It outranks the next by", "One value down or up",
                           "Along the front", "The best of each tube"}) {
    CAPTURE(part);
    CHECK(has(answer.out, part));
  }
  std::size_t line = 0;
  for (const char c : answer.out) {  // characters, not bytes
    if (c == '\n')
      line = 0;
    else if ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U)
      CHECK(++line <= 80);
  }
  const json document = results(folder / "r");
  const json& candidates = document.at("candidates");
  for (std::size_t n = 0; n + 1 < candidates.size(); ++n) {
    const json& lead = candidates[n].at("explanation").at("lead_over_next");
    const double total =
        candidates[n + 1].at("score").get<double>() - candidates[n].at("score").get<double>();
    CHECK(std::fabs(lead.at("score").get<double>() - total) < 1e-9);
    double sum = 0;
    for (const auto& [_, share] : lead.at("of_it").items()) sum += share.get<double>();
    CHECK(std::fabs(sum - total) < 1e-9);
  }
  CHECK(candidates[0].at("explanation").at("steps").size() >= 8);
  CHECK(document.at("choices").size() >= 4);
  CHECK(document.at("steps_along_the_front").size() == document.at("choices").size() - 1);
  // The best of each tube is no better than the best of all, and the best of all is one of them.
  double least = 1e300;
  std::map<std::string, int> tubes;
  for (const json& r : document.at("best_of_tubes")) {
    least = std::min(least, r.at("score").get<double>());
    CHECK(++tubes[r.at("tube")] == 1);
  }
  CHECK(within(least, candidates[0].at("score").get<double>(), 1e-9));
  CHECK(has(read_text(folder / "r" / "report.html"), "Why this one"));
}

TEST_CASE("out of the drawer: only listed values, none more often than it is there") {
  Folder folder;
  write_text(folder / "drawer.csv", read_text(kBriefs + "drawer.csv"));
  const Answer answer = search(folder, brief_named("out_of_the_drawer.json"), "r");
  CHECK(answer.code == 0);
  std::map<double, int> there;  // by hand from drawer.csv
  there = {{470, 4},  {680, 2},  {1e3, 5},  {1.5e3, 1}, {2.2e3, 3}, {4.7e3, 2}, {10e3, 4},
           {15e3, 1}, {22e3, 2}, {33e3, 2}, {47e3, 1},  {56e3, 1},  {100e3, 3}, {1e6, 3}};
  const json document = results(folder / "r");
  REQUIRE(!document.at("candidates").empty());
  int of_two = 0;
  for (const json& c : document.at("candidates")) {
    std::map<double, int> used;
    for (const json& part : c.at("evaluation").at("parts"))
      if (part.value("unit", "") == "ohm")
        used[part.at("value").get<double>()] += part.at("count").get<int>();
    for (const auto& [value, pieces] : used) {
      const auto& told = value;  // clang before 16 cannot capture a structured binding
      CAPTURE(told);
      REQUIRE(there.count(value) == 1);
      CHECK(pieces <= there[value]);
    }
    of_two += c.at("evaluation").at("parts").dump().find("second part") != std::string::npos;
  }
  CHECK(of_two > 0);
  CHECK(has(answer.out, "in series"));
}

TEST_CASE("results are set beside others, and the difference is that of the scores") {
  Folder folder;
  CHECK(search(folder, brief_named("any_plate_resistors.json"), "any").code == 0);
  const Answer answer =
      search(folder, brief_named("only_100k_plates.json"), "only", "--against " + (folder / "any").string());
  CHECK(answer.code == 0);
  CHECK(has(answer.out, "Against other results"));
  const json document = results(folder / "only");
  const json& against = document.at("against");
  const double lead = against.at("lead_over_it").at("score");
  CHECK(lead <= 0);  // fewer choices cannot be better, with the same score
  CHECK(within(against.at("score").get<double>(),
               results(folder / "any").at("candidates")[0].at("score").get<double>(), 1e-9));
  CHECK(std::fabs(lead - (against.at("score").get<double>() -
                          document.at("candidates")[0].at("score").get<double>())) < 1e-9);
  CHECK(
      run("search " + (folder / "only.json").string() + " --against " + (folder / "nowhere").string()).code ==
      2);
  write_text(folder / "odd.json", "{}");
  const Answer odd =
      run("search " + (folder / "only.json").string() + " --against " + (folder / "odd.json").string());
  CHECK(odd.code == 2);
  CHECK(has(odd.err, "is not a candidates.json"));
}
