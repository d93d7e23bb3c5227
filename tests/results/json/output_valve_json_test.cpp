#include "results/json/output_valve_json.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "results/terminal/output_valve_text.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("a card's law stands beside the points that it was fitted to") {
  const OutputValve& valve = *shipped().find_output_valve("KT88");
  const auto law = nlohmann::json::parse(output_valve_json(valve)).at("law");
  CHECK(law.at("form") == "space_current_pentode");
  REQUIRE(law.at("points").size() == 4);
  const auto& first = law.at("points")[0];
  // KT88 data sheet: 140 mA and 11.5 mA/V at 250 V on both, -15 V; a fit to a few points meets them to a
  // tenth or so
  CHECK(first.at("plate_current_a").at("sheet") == 0.14);
  CHECK(within_ratio(first.at("plate_current_a").at("law").get<double>(), 0.14, 0.15));
  CHECK(within_ratio(first.at("gm_s").at("law").get<double>(), 0.0115, 0.15));
  CHECK(law.at("points")[1].at("connection") == "triode");
  CHECK_FALSE(law.at("points")[1].contains("screen_v"));
  CHECK(output_valve_text(valve).find("Law of its currents") != std::string::npos);
}

TEST_CASE("a card without a law says that its pair cannot be solved") {
  OutputValve valve = *shipped().find_output_valve("KT88");
  valve.law.reset();
  CHECK_FALSE(nlohmann::json::parse(output_valve_json(valve)).contains("law"));
  CHECK(output_valve_text(valve).find("has no law") != std::string::npos);
}
