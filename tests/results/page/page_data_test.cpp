#include "results/page/page_data.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <set>

#include "results/describe/trade_off.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

TEST_CASE("the page shows the candidates and every end of the trade-off, each design once") {
  const Report report = sample::report();
  const auto entries = page_entries(report);
  CHECK(entries.size() >= report.candidates.size());
  for (std::size_t a = 0; a < entries.size(); ++a)
    for (std::size_t b = a + 1; b < entries.size(); ++b)
      CHECK_FALSE(same_design(entries[a].record->design, entries[b].record->design));
  for (const TradeOffPoint& p : trade_off(report))
    CHECK(std::any_of(entries.begin(), entries.end(),
                      [&](const PageEntry& e) { return same_design(e.record->design, p.record->design); }));
  std::set<std::string> marks;
  for (const PageEntry& e : entries) CHECK(marks.insert(e.mark).second);
}

TEST_CASE("the cloud is thinned to a bound, and no number is longer than five digits") {
  Report report = sample::report();
  while (report.cloud.size() < 5000) report.cloud.push_back(report.cloud[report.cloud.size() % 50]);
  const auto data = nlohmann::json::parse(page_data(report, page_entries(report)));
  CHECK(data["cloud"].size() <= kMostCloudPoints);
  CHECK(data["cloud"].size() > kMostCloudPoints / 2);
  const std::string number = data["entries"][0]["sections"][0]["rest"][0].dump();
  CHECK(std::count_if(number.begin(), number.end(), [](char c) { return c >= '0' && c <= '9'; }) <= 5);
}
