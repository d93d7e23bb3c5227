#include "results/describe/limit_rows.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("limits are told tightest first, missing figures before all") {
  const std::vector<LimitResult> limits{
      {"a", "plate dissipation", "W", 1, 0.71, 0.9, 0.9, false, 21.1, true, false, true, "Not needed."},
      {"b", "supply current", "A", 0, 0.013, 0.012, 1, false, -8.33, false, false, true, "Draw less."},
      {"c", "headroom", "dB", 0, 0, 3, 1, true, 0, false, false, false},
  };
  const auto rows = limit_rows(limits);
  REQUIRE(rows.size() == 3);
  CHECK(rows[0].limit == "headroom");
  CHECK(rows[0].value == "none");
  CHECK(rows[0].allowed == "≥ 3 dB");
  CHECK(rows[1].limit == "supply current");
  CHECK(rows[1].margin == "-8.33 %");
  CHECK_FALSE(rows[1].kept);
  CHECK(rows[2].limit == "plate dissipation, section 1");
  CHECK(rows[2].section == "1");
  CHECK(rows[2].allowed == "≤ 900 mW");
  CHECK(rows[1].remedy == "Draw less.");
  CHECK(rows[2].remedy.empty());  // kept
  CHECK(tightest(limits) == &limits[2]);
  CHECK(tightest({}) == nullptr);
}
