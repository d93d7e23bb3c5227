#include "results/json/evaluation_json.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/results/support/sample_report.h"

using namespace antiphase;
using nlohmann::json;

namespace {

json written(const Record& r) {
  return json::parse(evaluation_json(r));
}

/// A record whose numbers are known because they were put there.
Record hand_made() {
  Record r;
  r.design = sample::self_biased_pair();
  r.evaluation.operating_point.solved = Solved::yes;
  r.evaluation.operating_point.cathode_v = 87.5;
  r.evaluation.operating_point.plate_current_a = {1e-3, 1.1e-3};
  r.evaluation.small_signal.gain = {-27, 26.5};
  r.evaluation.small_signal.output_impedance_alone_ohm = {45e3, 49e3};
  r.evaluation.at_target.solved = Solved::yes;
  r.evaluation.at_target.thd_pct = {0.5, 0.25};
  r.evaluation.at_target.harmonic_v[0] = {0, -32, 0.32, 0.16, 0, 0, 0, 0, 0, 0, 0};
  r.evaluation.at_target.harmonic_v[1] = {0, 32, 0, 0.16, 0, 0, 0, 0, 0, 0, 0};
  r.evaluation.clean.solved = Solved::yes;
  r.evaluation.clean.swing_peak_v = 50;
  r.evaluation.clean.limited_by = CleanLimit::grid_conduction;
  r.evaluation.clean.headroom_db = 3.9;
  r.limits = {{"plate_dissipation_w", "plate dissipation", "W", 1, 0.2, 0.9, 0.9, false, 77.8, true, true}};
  return r;
}

}  // namespace

TEST_CASE("an evaluation has every member that the design contract names") {
  const json j = written(sample::record(sample::self_biased_pair()));
  for (const char* name : {"cathode_v", "leak_node_v", "plate_v", "plate_current_a", "grid_to_cathode_v",
                           "tail_fraction", "plate_dissipation_w", "supply_current_a"})
    CHECK_MESSAGE(j.at("operating_point").contains(name), name);
  for (const char* name : {"gain", "balance_small_signal_pct", "output_impedance_alone_ohm",
                           "output_impedance_differential_ohm", "clean_swing_peak_v", "clean_limited_by",
                           "headroom_db", "limits", "distortion_pct", "output_impedance_ohm"})
    CHECK_MESSAGE(j.contains(name), name);
  for (const char* name :
       {"input_peak_v", "output_peak_v", "thd_pct", "thd_differential_pct", "harmonics_pct", "balance_pct"})
    CHECK_MESSAGE(j.at("at_target").contains(name), name);
  for (const char* name : {"plate_v", "plate_current_a", "grid_to_cathode_v", "plate_dissipation_w"})
    CHECK(j.at("operating_point").at(name).size() == 2);
  REQUIRE(j.at("at_target").at("harmonics_pct").size() == 2);
  CHECK(j.at("at_target").at("harmonics_pct")[1].size() == 9);
  for (const auto& limit : j.at("limits"))
    for (const char* name : {"name", "value", "limit", "margin_pct", "kept"})
      CHECK_MESSAGE(limit.contains(name), name);
  CHECK_FALSE(j.contains("reason"));
}

TEST_CASE("the numbers are the ones of the record") {
  const json j = written(hand_made());
  CHECK(j["operating_point"]["cathode_v"] == 87.5);
  CHECK(j["operating_point"]["plate_current_a"] == json({1e-3, 1.1e-3}));
  CHECK(j["gain"] == json({-27, 26.5}));
  CHECK(j["distortion_pct"] == 0.5);         // the larger of the two
  CHECK(j["output_impedance_ohm"] == 49e3);  // the larger of the two
  CHECK(j["at_target"]["harmonics_pct"][0] == json({1.0, 0.5, 0, 0, 0, 0, 0, 0, 0}));
  CHECK(j["clean_limited_by"] == "grid_conduction");
  CHECK(j["limits"][0]["name"] == "plate_dissipation_w");
  CHECK(j["limits"][0]["margin_pct"] == 77.8);
  CHECK(j["limits"][0]["kept"] == true);
}

TEST_CASE("a target out of reach is null with a reason; what is known stays") {
  Record r = hand_made();
  r.evaluation.at_target.solved = Solved::target_out_of_reach;
  const json j = written(r);
  for (const char* name :
       {"input_peak_v", "output_peak_v", "thd_pct", "thd_differential_pct", "harmonics_pct", "balance_pct"})
    CHECK_MESSAGE(j["at_target"][name].is_null(), name);
  CHECK(j["at_target"]["reason"] == std::string(reason(Solved::target_out_of_reach)));
  CHECK(j["distortion_pct"].is_null());
  CHECK(j["reason"] == std::string(reason(Solved::target_out_of_reach)));
  CHECK(j["operating_point"]["cathode_v"] == 87.5);
  CHECK(j["clean_swing_peak_v"] == 50);
}

TEST_CASE("without a rest point everything is null and says why") {
  Record r = hand_made();
  r.evaluation = {};
  r.evaluation.operating_point.solved = Solved::no_rest_point;
  const json j = written(r);
  CHECK(j["operating_point"]["cathode_v"].is_null());
  CHECK(j["operating_point"]["plate_v"].is_null());
  CHECK(j["operating_point"]["reason"] == std::string(reason(Solved::no_rest_point)));
  CHECK(j["gain"].is_null());
  CHECK(j["clean_swing_peak_v"].is_null());
  CHECK(j["clean_limited_by"].is_null());
  CHECK(j["reason"] == std::string(reason(Solved::no_rest_point)));
  CHECK(j["hand_estimate"]["from_supply"]["thd_pct"].is_null());
  CHECK_FALSE(j["hand_estimate"]["from_supply"]["reason"].get<std::string>().empty());
}

TEST_CASE("a stage that is never clean has no headroom but a reason") {
  Record r = hand_made();
  r.evaluation.clean.swing_peak_v = 0;
  r.evaluation.clean.headroom_db = -INFINITY;
  const json j = written(r);
  CHECK(j["clean_swing_peak_v"] == 0);
  CHECK(j["headroom_db"].is_null());
  CHECK_FALSE(j["reason"].get<std::string>().empty());
}

TEST_CASE("a limit on a figure that the design does not have is broken, with null and a reason") {
  Record r = hand_made();
  r.limits[0].known = r.limits[0].kept = false;
  const json limit = written(r)["limits"][0];
  CHECK(limit["value"].is_null());
  CHECK(limit["margin_pct"].is_null());
  CHECK(limit["kept"] == false);
  CHECK(limit.contains("reason"));
}

TEST_CASE("a gain stage has one entry per array and nothing that needs two outputs") {
  const json j = written(sample::record(sample::gain_stage()));
  CHECK(j["gain"].size() == 1);
  CHECK(j["at_target"]["thd_pct"].size() == 1);
  CHECK(j["at_target"]["harmonics_pct"].size() == 1);
  CHECK_FALSE(j.contains("balance_small_signal_pct"));
  CHECK_FALSE(j["at_target"].contains("balance_pct"));
  CHECK_FALSE(j["operating_point"].contains("tail_fraction"));
}
