#include "results/describe/tube_substitutes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "results/json/tube_json.h"
#include "results/terminal/substitutes_text.h"
#include "results/text/lines.h"
#include "tests/support/within.h"

using namespace antiphase;

namespace {

/// The three-halves law: i = k (vg + va/mu)^1.5, so that gm = 1.5 k^(2/3) i^(1/3) and rp = mu / gm.
Tube three_halves(const std::string& name, double k, double mu) {
  Tube t;
  t.name = name;
  t.base = TubeBase{"octal",
                    "8BD",
                    {Pin::grid_2, Pin::plate_2, Pin::cathode_2, Pin::grid_1, Pin::plate_1, Pin::cathode_1,
                     Pin::heater, Pin::heater},
                    "test"};
  t.heater = {6.3, 0.6, "test"};
  t.ratings.plate_v_max = Sourced{300, "test"};
  t.ratings.plate_w_max = Sourced{2.5, "test"};
  t.capacitance = {4e-12, 3e-12, 1e-12, "test"};
  t.models.push_back({ChildLangmuir{k, mu, 0}, "test", true});
  PublishedPoint p;
  p.plate_v = 200;
  p.plate_current_a = 8e-3;
  p.mu = mu;
  p.source = "test";
  t.published_points.push_back(p);
  return t;
}

double gm_at_8_ma(double k) {
  return 1.5 * std::pow(k, 2.0 / 3) * std::cbrt(8e-3);
}

std::vector<std::string> names(const std::vector<Substitute>& list) {
  std::vector<std::string> result;
  for (const Substitute& s : list) result.push_back(s.tube->name);
  return result;
}

bool has(const std::vector<std::string>& list, const std::string& text) {
  return std::find(list.begin(), list.end(), text) != list.end();
}

}  // namespace

TEST_CASE("the distance is that of the closed formulas of the three-halves law") {
  const Tube a = three_halves("A", 1e-3, 20), b = three_halves("B", 2e-3, 30);
  const Substitutes found = substitutes_for(a, {&a, &b});
  REQUIRE(found.rest);
  CHECK(*found.asked.distance == 0);
  CHECK(within_ratio(*found.asked.gm_s, gm_at_8_ma(1e-3), 1e-6));
  REQUIRE(found.pin_compatible.size() == 1);
  const Substitute& s = found.pin_compatible.front();
  CHECK(within_ratio(*s.mu, 30, 1e-6));
  CHECK(within_ratio(*s.gm_s, gm_at_8_ma(2e-3), 1e-6));
  CHECK(within_ratio(*s.rp_ohm, 30 / gm_at_8_ma(2e-3), 1e-6));
  const double mu = std::log(1.5), gm = 2.0 / 3 * std::log(2.0);
  CHECK(within_ratio(*s.distance, std::sqrt(mu * mu + gm * gm + (mu - gm) * (mu - gm)), 1e-6));
}

TEST_CASE("nearest first, ruled out last, other pins and heaters by themselves") {
  const Tube asked = three_halves("asked", 1e-3, 20);
  const Tube near = three_halves("near", 1.1e-3, 21);
  const Tube far = three_halves("far", 3e-3, 60);
  Tube weak = asked, series = asked, turned = asked, unknown = asked;
  weak.name = "weak";
  weak.ratings.plate_w_max->value = 1.5;  // the point takes 1.6 W
  series.name = "series";
  series.heater.volt_v = 12.6;
  turned.name = "turned";
  std::swap(turned.base->pins[0], turned.base->pins[1]);
  unknown.name = "unknown";
  unknown.base.reset();
  const Substitutes found = substitutes_for(asked, {&weak, &far, &unknown, &series, &asked, &turned, &near});
  CHECK(names(found.pin_compatible) == std::vector<std::string>{"near", "far", "weak"});
  CHECK(names(found.others) == std::vector<std::string>{"series", "turned", "unknown"});
  CHECK(found.others[0].to_change == "heater voltage 12.6 V");
  CHECK(found.others[1].to_change == "other pins, octal 8BD");
  CHECK(found.others[2].to_change == "no pins on the card of the unknown");
  CHECK(found.pin_compatible[2].ruled_out_by ==
        std::vector<std::string>{"1.6 W is above its 1.5 W of plate dissipation"});
  CHECK(found.pin_compatible[0].ruled_out_by.empty());

  const std::string text = substitutes_text(found);
  CHECK(text.find("Compared at 200 V and 8 mA") != std::string::npos);
  CHECK(text.find("weak") < text.find("By characteristics"));
  CHECK(text.find("unknown", text.find("By characteristics")) != std::string::npos);
  CHECK(text.find("High voltage can kill") != std::string::npos);
  const auto json = nlohmann::json::parse(substitutes_json(found));
  CHECK(json["pin_compatible"][0]["tube"] == "near");
  CHECK(json["others"][0]["pin_compatible"] == false);
  CHECK(json["rest_point"]["plate_current_a"] == 8e-3);
  CHECK(within_ratio(json["asked"]["gm_s"].get<double>(), gm_at_8_ma(1e-3), 1e-6));
}

TEST_CASE("what differs is told where it can do harm: heater current, lower ratings, capacitance, shields") {
  const Tube asked = three_halves("asked", 1e-3, 20);
  Tube other = asked;
  other.name = "other";
  other.heater.current_a = 0.9;
  other.ratings.plate_v_max->value = 250;
  other.ratings.plate_w_max->value = 5;  // higher: no harm
  other.capacitance.grid_plate_f = 6e-12;
  const Substitutes found = substitutes_for(asked, {&other});
  REQUIRE(found.pin_compatible.size() == 1);
  const auto& differs = found.pin_compatible[0].differs;
  CHECK(differs.size() == 3);
  CHECK(has(differs, "its heater takes 900 mA instead of 600 mA"));
  CHECK(has(differs, "plate to cathode, working at most 250 V instead of 300 V"));
  CHECK(has(differs, "grid to plate 6 pF instead of 4 pF"));
  CHECK(substitutes_for(asked, {&asked}).pin_compatible.empty());  // not for itself
}

TEST_CASE("a card without a typical point has pins to go by, and no distances") {
  Tube asked = three_halves("asked", 1e-3, 20);
  const Tube other = three_halves("other", 1e-3, 20);
  asked.published_points.clear();
  const Substitutes found = substitutes_for(asked, {&asked, &other});
  CHECK_FALSE(found.rest);
  REQUIRE(found.pin_compatible.size() == 1);
  CHECK_FALSE(found.pin_compatible[0].distance);
  CHECK(substitutes_text(found).find("publishes no point") != std::string::npos);
  CHECK(nlohmann::json::parse(substitutes_json(found))["rest_point"].is_null());
}
