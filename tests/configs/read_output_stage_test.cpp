#include "configs/read_output_stage.h"

#include <doctest/doctest.h>

#include <cmath>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "stagemodels/output/pair_solver.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::test;
using namespace antiphase::testing;

namespace {

constexpr const char* kStage = R"({"output_stage": {
  "valve": "6L6GC", "supply_v": 360, "screen_v": "270 V", "screen_ohm": "100 ohm", "bias_v": -22.5, "watts": "20 W",
  "transformer": {"plate_to_plate_ohm": "6.6k", "load_ohm": 8, "primary_ohm": 180, "secondary_ohm": 0.3,
                  "primary_h": 60, "leakage_h": "15 mH", "primary_f": "600p", "secondary_f": "1n"}}})";

Json driving_design() {
  return patched(patched(self_biased_design(), R"({"swing_peak_v": null})"), kStage);
}
Json driving_chain() {
  return patched(
      patched(chain_design(), R"({"swing_peak_v": null, "first_stage": {"cathode_unbypassed_ohm": 100},
    "feedback": {"output_gain": null, "output_impedance_ohm": null}})"),
      kStage);
}
Json driving_brief() {
  return patched(patched(short_brief(), R"({"target": null})"), kStage);
}

Design design_of(const Json& json) {
  auto read = read_design_text(json.dump(1), "design", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Design>(read);
}

template <class Read>
void check_faults(const Json& whole, const std::string& schema_file, const std::vector<BadFile>& table,
                  Read read) {
  const auto schema = read_schema(schema_file);
  REQUIRE(schema_error(schema, schema, whole) == "");
  for (const auto& row : table) {
    CAPTURE(row.patch);
    const Json file = patched(whole, row.patch);
    const auto result = read(file.dump(1));
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
    CHECK((schema_error(schema, schema, file) != "") == row.schema_sees);
  }
}

}  // namespace

TEST_CASE("an output stage arrives with its numbers, and swing and valve follow from it") {
  const Design d = design_of(driving_design());
  REQUIRE(has_output_stage(d));
  const OutputPair& p = d.output_stage.pair;
  CHECK(d.output_stage.watts == 20);
  CHECK(p.valve[0] == shipped().find_output_valve("6L6GC"));
  CHECK(p.valve[1] == p.valve[0]);
  CHECK(p.supply_v == 360);
  CHECK(p.screens == ScreenConnection::supply);
  CHECK(p.screen_v == 270);
  CHECK(p.screen_ohm == 100);
  CHECK(p.bias == OutputBias::fixed);
  CHECK(p.bias_v == -22.5);
  CHECK(p.transformer.plate_to_plate_ohm == 6600);
  CHECK(p.transformer.load_ohm == 8);
  CHECK(p.transformer.primary_ohm == 180);
  CHECK(p.transformer.secondary_ohm == 0.3);
  CHECK(p.transformer.primary_h == 60);
  CHECK(p.transformer.leakage_h == 15e-3);
  CHECK(p.transformer.primary_f == 600e-12);
  CHECK(p.transformer.secondary_f == 1e-9);
  CHECK(d.output_valve == p.valve[0]);
  CHECK(d.output_valve_bias_v == -22.5);
  const PairFigures figures = pair_figures(p, 20);
  CHECK(d.swing_peak_v == figures.at_watts.drive_peak_v[0]);
  CHECK(within_ratio(figures.at_watts.power_w, 20, 1e-8));
}

TEST_CASE("screens on taps or plates, a cathode resistor and a turns ratio are said in their own members") {
  const Design taps = design_of(patched(driving_design(), R"({"output_stage": {"connection": "ultralinear",
    "screen_tap": 0.43, "screen_v": null, "screen_ohm": null, "bias_v": -33, "watts": 10,
    "transformer": {"plate_to_plate_ohm": null, "turns_ratio": 30}}})"));
  CHECK(taps.output_stage.pair.screens == ScreenConnection::ultralinear);
  CHECK(taps.output_stage.pair.tap == 0.43);
  CHECK(within_ratio(taps.output_stage.pair.transformer.plate_to_plate_ohm, 7200, 1e-12));
  const Design cathode =
      design_of(patched(driving_design(), R"({"output_stage": {"valve": "2A3", "screen_v": null,
    "screen_ohm": null, "bias_v": null, "cathode_ohm": 780, "watts": 5}})"));
  CHECK(cathode.output_stage.pair.screens == ScreenConnection::triode);
  CHECK(cathode.output_valve_bias == OutputBias::cathode);
  CHECK(cathode.output_valve_bias_v < -40);  // the voltage across the resistor at rest
}

TEST_CASE("what feedback has to know of the output stage is the pair's") {
  const Design d = design_of(driving_chain());
  PairSolver pair(d.output_stage.pair);
  PairRest rest;
  REQUIRE(pair.rest(rest) == Solved::yes);
  CHECK(d.feedback.output_gain == rest.gain);
  CHECK(d.feedback.output_impedance_ohm == rest.output_impedance_ohm);
  CHECK(d.feedback.load_ohm == 8);
}

TEST_CASE("each wrong member of an output stage is one fault at its place") {
  const auto read = [](const std::string& text) { return read_design_text(text, "design", shipped()); };
  check_faults(
      driving_design(), "design.schema.json",
      {
          {R"({"output_stage": {"valve": null}})", "/output_stage/valve", "is missing: the type of the two"},
          {R"({"output_stage": {"valve": "6L7"}})", "/output_stage/valve",
           "there is no output valve card of a \"6L7\"", false},
          {R"({"output_stage": {"connection": "tetrode"}})", "/output_stage/connection",
           "must be \"pentode\""},
          {R"({"output_stage": {"screen_v": null}})", "/output_stage/screen_v",
           "is missing: the screens' supply", false},
          {R"({"output_stage": {"screen_tap": 0.4}})", "/output_stage/screen_tap",
           "belongs to the ultralinear", false},
          {R"({"output_stage": {"cathode_ohm": 200}})", "/output_stage/cathode_ohm", "exclude each other"},
          {R"({"output_stage": {"bias_v": null}})", "/output_stage/bias_v", "is missing"},
          {R"({"output_stage": {"watts": 0}})", "/output_stage/watts", "from 1 mW to 10 kW, is 0 W"},
          {R"({"output_stage": {"watts": 200}})", "/output_stage/watts", "is more than this pair brings",
           false},
          {R"({"output_stage": {"transformer": {"turns_ratio": 30}}})",
           "/output_stage/transformer/turns_ratio", "exclude each other"},
          {R"({"output_stage": {"transformer": {"plate_to_plate_ohm": null}}})",
           "/output_stage/transformer/plate_to_plate_ohm", "is missing"},
          {R"({"output_stage": {"transformer": {"leakage_h": "15 mF"}}})",
           "/output_stage/transformer/leakage_h", "where an inductance in H is meant"},
          {R"({"output_stage": {"transformer": {"core": "big"}}})", "/output_stage/transformer/core",
           "is not a known member"},
          {R"({"output_valve": {"type": "6L6GC", "bias_v": -22.5}})", "/output_valve",
           "follows from output_stage"},
          {R"({"swing_peak_v": 30})", "/swing_peak_v", "whose watts take", false},
      },
      read);
  check_faults(
      driving_chain(), "design.schema.json",
      {{R"({"feedback": {"output_gain": 0.4}})", "/feedback/output_gain", "follows from output_stage"},
       {R"({"feedback": {"load_ohm": 8}})", "/feedback/load_ohm", "follows from output_stage"},
       {R"({"feedback": {"low_hz": 10}})", "/feedback/low_hz", "follows from output_stage", false}},
      read);
  check_faults(patched(gain_stage_design(), "{}"), "design.schema.json",
               {{kStage, "/output_stage", "has no meaning in a common_cathode stage"}}, read);
}

TEST_CASE("a card without a law says so, and which cards have one") {
  auto without = whole_output_valve();
  without["output_valve"] = "6L6GC";
  without["also_known_as"] = Json::array();
  without.erase("law");
  TubeLibrary library = example_library();
  library.add(std::get<OutputValve>(read_output_valve_text(without.dump(), "card")));
  const auto result = read_design_text(driving_design().dump(1), "design", library);
  REQUIRE(std::holds_alternative<InputErrors>(result));
  CHECK(other_than(std::get<InputErrors>(result), "/output_stage/valve",
                   "has no law of its currents, so that its pair cannot be solved; these have one: ") == "");
}

TEST_CASE("a brief asks for watts, and its swing is solved") {
  const auto result = read_brief_text(driving_brief().dump(1), "brief", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&result)) FAIL(in_words(*errors));
  const auto& brief = std::get<Brief>(result);
  const Design same = design_of(driving_design());
  CHECK(brief.space.given.swing_peak_v == same.swing_peak_v);
  CHECK(brief.space.given.output_valve == same.output_valve);
  check_faults(
      driving_brief(), "brief.schema.json",
      {{R"({"target": {"swing_peak_v": 20}})", "/target", "follows from output_stage"},
       {R"({"load": {"output_valve": "6L6GC"}})", "/load/output_valve", "follows from output_stage"},
       {R"({"output_stage": {"watts": 200}})", "/output_stage/watts", "is more than this pair brings", false},
       {R"({"output_stage": null})", "/target", "is missing: the swing that is asked for"}},
      [](const std::string& text) { return read_brief_text(text, "brief", shipped()); });
}
