#include "results/page/page_data.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "results/describe/trade_off.h"
#include "results/json/design_json.h"
#include "tests/results/support/sample_figures.h"
#include "tests/support/within.h"

using namespace antiphase;

TEST_CASE("the page shows the candidates and every end of the trade-off, each design once") {
  const Report report = sample::report();
  const auto entries = shown_designs(report);
  CHECK(entries.size() >= report.candidates.size());
  for (std::size_t a = 0; a < entries.size(); ++a)
    for (std::size_t b = a + 1; b < entries.size(); ++b)
      CHECK_FALSE(same_design(entries[a].record->design, entries[b].record->design));
  for (const TradeOffPoint& p : trade_off(report))
    CHECK(std::any_of(entries.begin(), entries.end(),
                      [&](const ShownDesign& e) { return same_design(e.record->design, p.record->design); }));
  std::set<std::string> marks;
  for (const ShownDesign& e : entries) CHECK(marks.insert(e.mark).second);
}

TEST_CASE("the cloud is thinned to a bound, and no number is longer than five digits") {
  Report report = sample::report();
  while (report.cloud.size() < kMostCloudPoints + 5000)
    report.cloud.push_back(report.cloud[report.cloud.size() % 50]);
  const auto data = nlohmann::json::parse(page_data(report, shown_designs(report)));
  CHECK(data["cloud"].size() <= kMostCloudPoints);
  CHECK(data["cloud"].size() > kMostCloudPoints / 2);
  CHECK(data["families"].size() <= report.cloud_family.size());
  for (const auto& c : data["cloud"])
    if (c.contains("family")) CHECK(c["family"].get<std::size_t>() < data["families"].size());
  const std::string number = data["entries"][0]["sections"][0]["rest"][0].dump();
  CHECK(std::count_if(number.begin(), number.end(), [](char c) { return c >= '0' && c <= '9'; }) <= 5);
}

TEST_CASE("curves against level and frequency are in the data where they are known, and null where not") {
  Report report = sample::report();
  report.candidates[0] = sample::whole_circuit();
  report.candidates[1] = sample::whole_circuit(sample::gain_stage());
  report.candidates[2].evaluation.frequency_known = false;
  report.candidates[2].evaluation.level_curve.solved = Solved::not_run;
  const auto data = nlohmann::json::parse(page_data(report, shown_designs(report)));
  const auto& pair = data["entries"][0];
  CHECK(pair["levels"]["level_db"].size() == 26);
  REQUIRE(pair["levels"]["thd_pct"].size() == 2);
  CHECK(pair["levels"]["thd_pct"][1][20] == 0.25);
  CHECK(pair["levels"]["difference_pct"][20] == 0.03);
  REQUIRE(pair["response"]["frequency_hz"].size() == FrequencyFigures::kCurvePoints);
  CHECK(within(pair["response"]["gain_db"][0][40], 26.02, 0.01));   // 20 lg 20
  CHECK(within(pair["response"]["phase_deg"][0][40], 0.29, 0.01));  // atan(10/1000) - atan(1/200)
  CHECK(pair["response"]["balance_pct"].size() == FrequencyFigures::kCurvePoints);
  const auto& one = data["entries"][1];
  CHECK(one["levels"]["thd_pct"].size() == 1);
  CHECK_FALSE(one["levels"].contains("difference_pct"));
  CHECK(one["response"]["gain_db"].size() == 1);
  CHECK_FALSE(one["response"].contains("balance_pct"));
  CHECK(data["entries"][2]["levels"].is_null());
  CHECK(data["entries"][2]["response"].is_null());
}

TEST_CASE(
    "every design of the page carries its own file, its limits and what to build, the front names its "
    "entries") {
  Report report = sample::report();
  report.demands.limits.push_back({find_figure("supply_current_a"), 5e-3});
  const auto entries = shown_designs(report);
  const auto data = nlohmann::json::parse(page_data(report, entries));
  REQUIRE(data["front"].size() == report.pareto.size());
  const auto holds = [&](const nlohmann::json& shown, const Record& r) {
    CHECK(shown["file"] == design_json(r.design));  // whole, not rounded like the numbers of the plots
    CHECK(shown["build"].size() == data["build"].size());
    REQUIRE(shown["limits"].size() == r.limits.size());
    for (std::size_t i = 0; i < r.limits.size(); ++i) {
      const auto& limit = shown["limits"][i];
      const auto& kind = data["limit_kinds"].at(limit[0].get<std::size_t>());
      CHECK(kind["label"] == r.limits[i].label);
      CHECK(kind["section"] == r.limits[i].section);
      CHECK(kind["at_least"] == r.limits[i].at_least);
      if (r.limits[i].known)
        CHECK_MESSAGE(within_ratio(limit[1], r.limits[i].value, 5.1e-5), r.limits[i].value, " ",
                      limit.dump());
      CHECK(limit[4] == r.limits[i].kept);
    }
  };
  for (std::size_t n = 0; n < entries.size(); ++n) holds(data["entries"][n], *entries[n].record);
  for (std::size_t n = 0; n < report.pareto.size(); ++n) {
    const int entry = data["front"][n]["entry"];
    if (entry >= 0)
      CHECK(same_design(entries[static_cast<std::size_t>(entry)].record->design, report.pareto[n].design));
    else
      holds(data["front"][n], report.pareto[n]);
  }
  REQUIRE(data["limits"].size() == 1);
  CHECK(data["limits"][0]["at_most"] == 5e-3);
  CHECK(data["figures"][data["limits"][0]["figure"].get<std::size_t>()]["name"] == "supply_current_a");
}
