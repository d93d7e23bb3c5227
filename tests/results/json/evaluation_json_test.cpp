#include "results/json/evaluation_json.h"

#include <doctest/doctest.h>

#include <algorithm>

#include <nlohmann/json.hpp>

#include "results/describe/missing_reason.h"
#include "results/describe/safety.h"
#include "tests/results/support/sample_figures.h"
#include "tests/support/within.h"

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
  r.limits = {{"plate_dissipation_w", "plate dissipation", "W", 1, 0.2, 0.9, 0.9, false, 77.8, true, false, true}};
  return r;
}

}  // namespace

TEST_CASE("an evaluation has every member that the design contract names") {
  const json j = written(sample::whole_circuit());
  for (const char* name : {"cathode_v", "supply_v", "leak_node_v", "plate_v", "plate_current_a",
                           "grid_to_cathode_v", "tail_fraction", "plate_dissipation_w", "supply_current_a"})
    CHECK_MESSAGE(j.at("operating_point").contains(name), name);
  for (const char* name :
       {"gain", "balance_small_signal_pct", "output_impedance_alone_ohm", "output_impedance_differential_ohm",
        "clean_swing_peak_v", "clean_limited_by", "headroom_db", "limits", "distortion_pct",
        "output_impedance_ohm", "intermodulation", "level_curve", "overdrive", "frequency"})
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

TEST_CASE("parts carry what each cause asks of them, and the caution stands with them") {
  const Record r = sample::record(sample::self_biased_pair());
  const json j = written(r);
  CHECK(j.at("safety") == kSafetyLine);
  const json& plate = *std::find_if(j.at("parts").begin(), j.at("parts").end(),
                                    [](const json& p) { return p.at("designators") == "R1"; });
  std::vector<std::string> causes;
  for (const json& cause : plate.at("causes")) causes.push_back(cause.at("cause"));
  // Cold, no current flows through a plate resistor, and nothing stands across it.
  CHECK(causes == std::vector<std::string>{"rest", "full drive", "fault"});
  CHECK(plate.at("causes")[0].at("power_w") == plate.at("power_rest_w"));
  CHECK(plate.at("causes")[2].contains("fault"));
  const json& open = *std::find_if(j.at("parts").begin(), j.at("parts").end(),
                                   [](const json& p) { return p.at("designators") == "C1"; });
  CHECK(open.at("value").is_null());
  CHECK(open.at("proposed_value").get<double>() > 0);
  for (const json& p : j.at("parts_beside")) CHECK(!p.at("note").get<std::string>().empty());
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

TEST_CASE("a target out of reach is null with a reason, what is known stays") {
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

TEST_CASE("two tones: each order of each method per output and for the difference") {
  const json j = written(sample::whole_circuit())["intermodulation"];
  CHECK(j["low_and_high"] == json{{"second_pct", {1, 0.75}},
                                  {"second_differential_pct", 0.015625},
                                  {"third_pct", {0.5, 0.5}},
                                  {"third_differential_pct", 0.5},
                                  {"total_pct", {1.125, 0.9375}},
                                  {"total_differential_pct", 0.53125}});
  CHECK(j["close_pair"]["second_pct"] == json({0.5, 0.375}));
  CHECK(j["close_pair"]["total_differential_pct"] == 0.25390625);
  const json one = written(sample::whole_circuit(sample::gain_stage()))["intermodulation"]["close_pair"];
  CHECK(one == json{{"second_pct", {0.5}}, {"third_pct", {0.25}}, {"total_pct", {0.56}}});
}

TEST_CASE("the level curve is a list of its points, in few digits, later numbers are whole again") {
  Record r = sample::whole_circuit();
  r.evaluation.overdrive.starved_db = 1.23456789;
  const json j = written(r), curve = j["level_curve"];
  REQUIRE(curve.size() == 26);
  const LevelPoint& p = r.evaluation.level_curve.point[20];  // the target
  CHECK(curve[20] == json{{"level_db", 0},
                          {"input_peak_v", p.input_peak_v},
                          {"output_peak_v", {33, 32}},
                          {"thd_pct", {0.5, 0.25}},
                          {"thd_differential_pct", 0.03},
                          {"second_pct", {0.375, 0.125}},
                          {"third_pct", {0.0625, 0.03125}}});
  CHECK(within_ratio(curve[0]["thd_pct"][0], r.evaluation.level_curve.point[0].thd_pct[0], 5e-5));
  CHECK(curve[0]["thd_pct"][0].dump().size() <= 9);  // 0.0 and five digits
  CHECK(j["overdrive"]["starved_db"] == 1.23456789);
  const json one = written(sample::whole_circuit(sample::gain_stage()))["level_curve"][0];
  CHECK(one["thd_pct"].size() == 1);
  CHECK_FALSE(one.contains("thd_differential_pct"));
}

TEST_CASE("overdrive: clean swings, margin, drives and recovery as they are in the record") {
  const Record r = sample::whole_circuit();
  const json j = written(r)["overdrive"];
  CHECK(
      j["clean_conducting"] ==
      json{{"swing_peak_v", 64}, {"limited_by", "distortion"}, {"input_peak_v", 2.5}, {"headroom_db", 6.02}});
  CHECK(j["clean_into_output_grids"]["swing_peak_v"] == 40);
  CHECK(j["starved_db"] == 4.5);
  CHECK(j["output_recovery_s"] == json({0.025, 0.026}));
  CHECK_FALSE(j.contains("reason"));
  REQUIRE(j["at"].size() == 3);
  CHECK(j["at"][1] == json{{"drive_db", 6},
                           {"output_peak_v", {40, 39}},
                           {"thd_pct", {4.5, 4.25}},
                           {"grid_shift_v", {-0.125, -0.0625}},
                           {"input_peak_a", 20e-6},
                           {"output_grid_shift_v", {-6.5, -6.25}},
                           {"output_grid_peak_a", {1.5e-3, 1.25e-3}}});
}

TEST_CASE("without an output valve nothing about its grid is made up") {
  Record r = sample::whole_circuit();
  r.design.output_valve = nullptr;
  r.evaluation.overdrive.clean_into_output_grids = {};
  r.evaluation.overdrive.starved_db.reset();
  const json j = written(r)["overdrive"];
  CHECK(j["clean_conducting"]["swing_peak_v"] == 64);
  CHECK(j["clean_into_output_grids"]["swing_peak_v"].is_null());
  CHECK(j["clean_into_output_grids"]["reason"] == std::string(kNoOutputValve));
  CHECK(j["starved_db"].is_null());
  CHECK(j["output_recovery_s"].is_null());
  CHECK(j["reason"] == std::string(kNoOutputValve));
  CHECK_FALSE(j["at"][0].contains("output_grid_shift_v"));
  CHECK(j["at"][0].contains("grid_shift_v"));
}

TEST_CASE("a named valve that is never starved, or has no coupling capacitor, says so") {
  Record r = sample::whole_circuit();
  r.evaluation.overdrive.starved_db.reset();
  json j = written(r)["overdrive"];
  CHECK(j["starved_db"].is_null());
  CHECK(j["reason"] == never_starved());
  r.evaluation.overdrive.output_recovery_s = {};
  j = written(r)["overdrive"];
  CHECK(j["output_recovery_s"].is_null());
  CHECK(j["reason"].get<std::string>().find(std::string(kNoCouplingCapacitor)) != std::string::npos);
}

TEST_CASE("one drive that was not solved is null with a reason, the others stay") {
  Record r = sample::whole_circuit();
  r.evaluation.overdrive.at[2].solved = Solved::no_convergence;
  const json at = written(r)["overdrive"]["at"];
  CHECK(at[1]["output_peak_v"] == json({40, 39}));
  CHECK(at[2]["drive_db"] == 12);
  for (const char* name : {"output_peak_v", "thd_pct", "grid_shift_v", "input_peak_a", "output_grid_peak_a"})
    CHECK_MESSAGE(at[2][name].is_null(), name);
  CHECK(at[2]["reason"] == std::string(reason(Solved::no_convergence)));
}

TEST_CASE("without a target the figures that stand on it are null and name that cause") {
  Record r = sample::whole_circuit();
  r.evaluation.at_target.solved = Solved::target_out_of_reach;
  r.evaluation.intermodulation = {};
  r.evaluation.level_curve = {};
  r.evaluation.overdrive = {};
  const json j = written(r);
  const std::string why(reason(Solved::target_out_of_reach));
  CHECK(j["intermodulation"]["low_and_high"]["second_pct"].is_null());
  CHECK(j["intermodulation"]["low_and_high"]["reason"] == why);
  CHECK(j["level_curve"].is_null());
  CHECK(j["reason"] == why);
  CHECK(j["overdrive"]["starved_db"].is_null());
  CHECK(j["overdrive"]["reason"] == why);
  CHECK(j["overdrive"]["clean_conducting"]["reason"] == why);
  CHECK(j["overdrive"]["at"][0]["reason"] == why);
  CHECK(j["frequency"]["curve"].size() == 71);  // of the rest point, so it stays
}

TEST_CASE("frequency: noise, input capacitance and a curve of sizes and phases") {
  const Record r = sample::whole_circuit();
  const json f = written(r)["frequency"];
  CHECK(f["input_f"] == 123e-12);
  CHECK(f["noise"] == json{{"low_hz", 20},
                           {"high_hz", 20000},
                           {"output_v_rms", {40e-6, 30e-6}},
                           {"below_target_db", {115, 117.5}},
                           {"difference_v_rms", 62.5e-6},
                           {"difference_below_target_db", 117},
                           {"input_v_rms", 1.5625e-6}});
  REQUIRE(f["curve"].size() == FrequencyFigures::kCurvePoints);
  const json& at = f["curve"][40];
  CHECK(at["frequency_hz"] == 1000);
  CHECK(within_ratio(at["gain"][0], std::abs(r.evaluation.frequency.curve[40].gain[0]), 5e-5));
  CHECK(within(std::abs(at["gain_phase_deg"][0].get<double>()), 180, 0.5));  // inverting
  CHECK(within(at["gain_phase_deg"][1], 0, 0.5));
  CHECK(within_ratio(at["input_impedance_ohm"], 1e6 / std::sqrt(2.0), 5e-5));
  CHECK(within(at["input_phase_deg"], -45, 1e-3));
  const json one = written(sample::whole_circuit(sample::gain_stage()))["frequency"];
  CHECK(one["curve"][0]["gain"].size() == 1);
  CHECK_FALSE(one["curve"][0].contains("balance_pct"));
  CHECK_FALSE(one["noise"].contains("difference_v_rms"));
}

TEST_CASE("figures that are no numbers become null, never NaN") {
  Record r = sample::whole_circuit();
  r.evaluation.frequency.curve[3].gain[0] = {std::nan(""), 0};
  r.evaluation.level_curve.point[2].thd_pct[1] = INFINITY;
  r.evaluation.overdrive.at[0].input_peak_a = std::nan("");
  const json j = written(r);  // would not parse otherwise
  CHECK(j["frequency"]["curve"][3]["gain"][0].is_null());
  CHECK(j["level_curve"][2]["thd_pct"][1].is_null());
  CHECK(j["overdrive"]["at"][0]["input_peak_a"].is_null());
}
