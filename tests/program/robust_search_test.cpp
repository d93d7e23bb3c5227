// Candidates ranked by what their builds come to, as a user sees it.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

json brief(const std::string& rank_by) {
  return json::parse(R"({
    "title": "Balance out of 5 % resistors", "stage": "long_tailed_pair", "tubes": ["12AT7", "12AU7"],
    "target": {"swing_peak_v": 30}, "load": {"ohm": "150k"}, "heater_v": 40,
    "variables": {"supply_v": [320, 360], "tail_fraction": {"from": 0.08, "to": 0.35},
      "plate_current_a": {"from": "1m", "to": "4m"}, "plate_ohm": {"from": "33k", "to": "120k"},
      "plate_ohm_ratio": {"from": 0.95, "to": 1.4}, "bias_form": ["self_biased"]},
    "parts": {"resistors": "E12"},
    "objectives": [{"figure": "distortion_pct", "weight": 2}, {"figure": "output_impedance_ohm", "weight": 1}],
    "limits": [{"figure": "balance_pct", "at_most": 5}],
    "builds": {"rank_by": ")" +
                     rank_by + R"(", "percentile": 80, "count": 400, "tolerances": {"resistor_pct": 5}},
    "search": {"effort": "quick", "candidates": 6}
  })");
}

json found(const Folder& folder, const json& asked, const std::string& more) {
  write_text(folder / "brief.json", asked.dump());
  const Answer answer = run("search " + (folder / "brief.json").string() + " --out " +
                            (folder / "out").string() + " -q --json " + more);
  INFO(answer.err);
  REQUIRE(answer.code == 0);
  json document = json::parse(answer.out);
  document["run"].erase("times");
  return document;
}

}  // namespace

TEST_CASE("a search that ranks by builds gives the same bytes for any number of threads") {
  Folder one, two, three;
  const json a = found(one, brief("yield"), "--spread --threads 1"),
             b = found(two, brief("yield"), "--spread --threads 2"),
             c = found(three, brief("yield"), "--spread --threads 3");
  CHECK(a.dump() == b.dump());
  CHECK(a.dump() == c.dump());
  for (const char* file : {"candidates.csv", "parts.csv", "pareto.csv"}) {
    CHECK(read_text(one / ("out/" + std::string(file))) == read_text(two / ("out/" + std::string(file))));
    CHECK(read_text(one / ("out/" + std::string(file))) == read_text(three / ("out/" + std::string(file))));
  }
}

TEST_CASE("candidates come in the order that the brief asks for, the nominal rank beside it") {
  for (const std::string by : {"yield", "percentile"}) {
    CAPTURE(by);
    Folder folder;
    const json document = found(folder, brief(by), "");
    const json& candidates = document.at("candidates");
    REQUIRE(candidates.size() == 6);
    const json* before = nullptr;
    for (const json& c : candidates) {
      const json& b = c.at("builds");
      CHECK(b.at("builds") == 400);
      CHECK(b.at("yield") == b.at("kept").get<double>() / 400);
      CHECK(b.at("yield_low_95") <= b.at("yield"));
      CHECK(b.at("yield") <= b.at("yield_high_95"));
      CHECK(b.at("nominal_rank") >= 1);
      // a score for 80 % of the builds exists just where so many are kept
      CHECK(b.at("score_at_percentile").is_null() == (b.at("kept") < 0.8 * 399 + 1));
      if (before && by == "yield") CHECK((*before).at("kept") >= b.at("kept"));
      if (before && by == "percentile" && !b.at("score_at_percentile").is_null())
        CHECK((*before).at("score_at_percentile") <= b.at("score_at_percentile"));
      before = &b;
    }
    const json& ranking = document.at("builds_ranking");
    CHECK(ranking.at("rank_by") == by);
    CHECK(ranking.at("designs") >= 100);
    const json& nominal = ranking.at("nominal_best");
    CHECK(nominal.at("builds").at("nominal_rank") == 1);
    for (const json& c : candidates) CHECK(c.at("score") >= nominal.at("score"));
    // what the first is worth: `spread` of it says the same of the same builds
    write_text(folder / "first.json", candidates[0].at("design").dump());
    write_text(folder / "t.json", R"({"resistor_pct": 5})");
    const Answer spread =
        run("spread " + (folder / "first.json").string() + " --brief " + (folder / "brief.json").string() +
            " --tolerances " + (folder / "t.json").string() + " --samples 400 --json");
    REQUIRE(spread.code == 0);
    CHECK(json::parse(spread.out).at("yield").at("kept") == candidates[0].at("builds").at("kept"));
    const std::string csv = read_text(folder / "out/candidates.csv");
    CHECK(csv.find("rank_as_drawn,builds,yield,yield_low_95,yield_high_95,score_of_builds") !=
          std::string::npos);
    const std::string page = read_text(folder / "out/report.html");
    CHECK(page.find("What their builds come to") != std::string::npos);
  }
}

TEST_CASE("without the member builds nothing is said of yield, and a sheet stands on the page all the same") {
  Folder folder;
  json asked = brief("yield");
  asked.erase("builds");
  const json document = found(folder, asked, "");
  CHECK_FALSE(document.contains("builds_ranking"));
  CHECK_FALSE(document.at("candidates")[0].contains("builds"));
  CHECK_FALSE(document.at("candidates")[0].contains("spread"));
  CHECK(read_text(folder / "out/report.html").find("Measuring sheet: Candidate 1") != std::string::npos);
}

TEST_CASE("search --spread tells the bands of every candidate") {
  Folder folder;
  json asked = brief("nominal");
  asked["builds"].erase("percentile");
  const json document = found(folder, asked, "--spread");
  for (const json& c : document.at("candidates")) {
    const json& s = c.at("spread");
    CHECK(s.at("builds") == 400);
    CHECK(s.at("measuring_sheet").at("safety").get<std::string>().find("kill") != std::string::npos);
    for (const json& f : s.at("figures")) {
      CHECK(f.at("low") <= f.at("median"));
      CHECK(f.at("median") <= f.at("high"));
    }
  }
}

TEST_CASE("evaluate --parts writes the parts list") {
  Folder folder;
  const std::string file = (folder / "parts.csv").string();
  const Answer answer =
      run("evaluate " ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json --parts " + file);
  CHECK(answer.code == 0);
  const std::string csv = read_text(file);
  CHECK(csv.find("designator,part,kind,pieces") == 0);
  CHECK(csv.find("R1,plate resistor 1,resistor,1,150 k\u03a9,150000,ohm,E6,1,") != std::string::npos);
  CHECK(run("evaluate " ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json --parts " + folder.text())
            .code == 3);  // a folder is no file
}
