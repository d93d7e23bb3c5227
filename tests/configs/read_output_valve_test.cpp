#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using namespace antiphase::test;

namespace {}  // namespace

TEST_CASE("every number of an output valve card arrives in SI units with its source") {
  const auto result = read_output_valve_text(whole_output_valve().dump(), "card");
  REQUIRE(std::holds_alternative<OutputValve>(result));
  const auto& v = std::get<OutputValve>(result);
  CHECK(v.name == "EL34");
  CHECK(v.also_known_as == std::vector<std::string>{"6CA7"});
  CHECK(v.grid_conduction_v == -0.7);
  CHECK(v.grid_conduction_source == "made up");
  CHECK(within_ratio(v.grid.current_a(-0.7), 0.3e-6, 1e-9));
  CHECK(within_ratio(1 / v.grid.siemens, 1000, 1e-12));
  CHECK(v.grid.slope_v == 0.087);
  CHECK(v.grid_source == "made up");
  CHECK(v.grid_leak_ohm_max_fixed_bias->value == 500e3);
  CHECK(v.grid_leak_ohm_max_self_bias->value == 700e3);
  CHECK(v.grid_to_rest_f == 15e-12);
  CHECK(v.grid_plate_f == 1.1e-12);
  CHECK(v.input_f->value == 26e-12);
  REQUIRE(v.law);
  CHECK(v.law->source == "made up");
  const auto& law = std::get<SpaceCurrentPentode>(v.law->law);
  CHECK(law.mu == 11);
  CHECK(law.ex == 1.35);
  CHECK(law.kg == 500);
  CHECK(law.kp == 40);
  CHECK(law.through == 0.01);
  CHECK(law.division == 8);
  CHECK(law.knee_v == 1);
  REQUIRE(v.law->points.size() == 2);
  CHECK(v.law->points[0].screen_v == 240);
  CHECK(v.law->points[0].grid_v == -12);
  CHECK(v.law->points[0].plate_current_a == 0.1);
  CHECK(v.law->points[0].screen_current_a == 0.015);
  CHECK(v.law->points[0].gm_s == 0.011);
  CHECK(v.law->points[0].rp_ohm == 15e3);
  CHECK(v.law->points[0].mu == 11.0);
  CHECK(v.law->points[1].as_triode);
  CHECK(v.law->points[1].screen_v == 300);
  REQUIRE(v.conditions.size() == 2);
  CHECK(v.conditions[0].connection == "pentode");
  CHECK(v.conditions[0].operating_class == "AB1");
  CHECK(v.conditions[0].plate_v == 425.0);
  CHECK(v.conditions[0].screen_v == 400.0);
  CHECK(v.conditions[0].bias_v == -38.0);
  CHECK(v.conditions[0].drive_grid_to_grid_peak_v == 76.0);
  CHECK(v.conditions[1].cathode_ohm == 220.0);
  CHECK_FALSE(v.conditions[1].bias_v);
  CHECK(v.conditions[1].operating_class.empty());
}

TEST_CASE("an output valve needs a name and where its grid conducts, and the rest has the usual values") {
  const auto card =
      Json::parse(R"({"output_valve": "EL34", "grid_conduction_v": {"value": -1, "source": "made up"}})");
  const auto v = std::get<OutputValve>(read_output_valve_text(card.dump(), "card"));
  CHECK(within_ratio(v.grid.current_a(-1), 0.3e-6, 1e-9));
  CHECK(within_ratio(1 / v.grid.siemens, 2000, 1e-12));
  CHECK_FALSE(v.input_f);
  CHECK_FALSE(v.law);
  CHECK(v.conditions.empty());
  const auto schema = read_schema("output_valve.schema.json");
  CHECK(schema_error(schema, schema, card) == "");
}

TEST_CASE("each wrong member of an output valve card is one fault at its place, and the schema sees it too") {
  const auto schema = read_schema("output_valve.schema.json");
  REQUIRE(schema_error(schema, schema, whole_output_valve()) == "");
  const std::vector<BadFile> table{
      {R"({"output_valve": null})", "/output_valve", "is missing: the type number"},
      {R"({"grid_conduction_v": null})", "/grid_conduction_v", "is missing"},
      {R"({"grid_conduction_v": {"value": 5}})", "/grid_conduction_v/value", "from -3 V to 1 V, is 5 V"},
      {R"({"grid_conduction_v": {"source": null}})", "/grid_conduction_v/source", "from memory"},
      {R"({"grid_current": {"slope_v": 0}})", "/grid_current/slope_v", "from 50 mV to 200 mV"},
      {R"({"grid_leak_ohm_max": {"cathode_bias": {"value": 1e6, "source": "s"}}})",
       "/grid_leak_ohm_max/cathode_bias", "is not a known member"},
      {R"({"grid_leak_ohm_max": {"fixed_bias": {"value": 100}}})", "/grid_leak_ohm_max/fixed_bias/value",
       "from 1 k\u03a9 to 100 M\u03a9"},
      {R"({"capacitance_f": {"grid_plate": 1.1}})", "/capacitance_f/grid_plate", "at most 1 nF, is 1.1 F"},
      {R"({"capacitance_f": {"source": ""}})", "/capacitance_f/source", "must not be empty"},
      {R"({"input_f": {"value": 0}})", "/input_f/value", "above 0 F"},
      {R"({"law": {"form": "five_halves"}})", "/law/form",
       "must be \"space_current_pentode\", \"koren_1996\" or \"suppressor_pentode\""},
      {R"({"law": {"form": null}})", "/law/form", "is missing: the law"},
      {R"({"law": {"mu": 0.5}})", "/law/mu", "from 1 to 100, is 0.5"},
      {R"({"law": {"kg": null}})", "/law/kg", "is missing: inverse scale of the space current"},
      {R"({"law": {"source": null}})", "/law/source", "is missing"},
      {R"({"law": {"kvb": 300}})", "/law/kvb", "is not a known member"},
      {R"({"law": {"points": [{"plate_v": 250, "grid_v": -12, "source": "s"}]}})", "/law/points/0/screen_v",
       "is missing: screen voltage"},
      {R"({"law": {"points": [{"plate_v": 250, "screen_v": 250, "grid_v": 12, "source": "s"}]}})",
       "/law/points/0/grid_v", "from -300 V to -10 mV, is 12 V"},
      {R"({"conditions": {}})", "/conditions", "must be a list"},
      {R"({"conditions": [{"plate_v": 300, "bias_v": -10, "source": "s"}]})", "/conditions/0/connection",
       "is missing"},
      {R"({"conditions": [{"connection": "tetrode", "plate_v": 300, "bias_v": -10, "source": "s"}]})",
       "/conditions/0/connection", "must be \"pentode\", \"ultralinear\" or \"triode\", is \"tetrode\""},
      {R"({"conditions": [{"connection": "triode", "class": "C", "plate_v": 300, "bias_v": -10, "source": "s"}]})",
       "/conditions/0/class", "must be \"A\", \"AB1\", \"AB2\" or \"B\""},
      {R"({"conditions": [{"connection": "triode", "plate_v": 300, "bias_v": 10, "source": "s"}]})",
       "/conditions/0/bias_v", "from -300 V to -10 mV, is 10 V"},
      {R"({"conditions": [{"connection": "triode", "plate_v": 300, "source": "s"}]})", "/conditions/0/bias_v",
       "is missing: a condition has bias_v or cathode_ohm"},
      {R"({"conditions": [{"connection": "triode", "plate_v": 300, "bias_v": -9, "cathode_ohm": 9, "source": "s"}]})",
       "/conditions/0/cathode_ohm", "exclude each other"},
      {R"({"conditions": [{"connection": "triode", "plate_v": 300, "bias_v": -10}]})", "/conditions/0/source",
       "is missing"},
      {R"({"tube": "EL34"})", "/tube", "is not a known member"},
  };
  for (const auto& row : table) {
    CAPTURE(row.patch);
    const auto card = patched(whole_output_valve(), row.patch);
    const auto result = read_output_valve_text(card.dump(1), "card");
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(other_than(std::get<InputErrors>(result), row.pointer, row.description) == "");
    CHECK((schema_error(schema, schema, card) != "") == row.schema_sees);
  }
}

TEST_CASE("every shipped output valve loads, obeys the schema and is called like its file") {
  const auto schema = read_schema("output_valve.schema.json");
  const std::string folder = ANTIPHASE_SOURCE "/configs/output_valves";
  std::size_t count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    CAPTURE(entry.path().string());
    ++count;
    std::ifstream in(entry.path());
    CHECK(schema_error(schema, schema, Json::parse(in)) == "");
    const auto result = read_output_valve(entry.path().string());
    if (const auto* errors = std::get_if<InputErrors>(&result)) FAIL(in_words(*errors));
    CHECK(std::get<OutputValve>(result).name == entry.path().stem());
  }
  CHECK(shipped().output_valves().size() == count);
  for (const char* name : {"EL84", "6BQ5", "EL34", "6CA7", "6V6GT", "6L6GC", "5881", "KT66", "KT88", "6550A",
                           "7591", "6973", "7027A", "2A3", "300B"}) {
    CAPTURE(name);
    CHECK(shipped().find_output_valve(name) != nullptr);
  }
}

TEST_CASE("what the cards of output valves say hangs together") {
  for (const OutputValve& v : shipped().output_valves()) {
    CAPTURE(v.name);
    CHECK(v.grid.conducts());
    CHECK(within_ratio(v.grid.current_a(v.grid_conduction_v), 0.3e-6, 1e-9));
    // handbook range of the crossover, 0 to -1 V (RDH4 ch. 2), and the EL84 sheet's limit of -1.3 V
    CHECK(v.grid_conduction_v <= 0);
    CHECK(v.grid_conduction_v >= -1.3);
    REQUIRE(v.grid_leak_ohm_max_fixed_bias);
    REQUIRE(v.grid_leak_ohm_max_self_bias);
    CHECK(v.grid_leak_ohm_max_self_bias->value >= v.grid_leak_ohm_max_fixed_bias->value);
    CHECK(v.grid_to_rest_f > 0);
    if (v.input_f) CHECK(v.input_f->value > v.grid_to_rest_f + v.grid_plate_f);  // Miller's part adds to both
    for (const OutputValveCondition& c : v.conditions) {
      CAPTURE(c.source);
      CHECK((v.grid_conduction_source.find("data sheet") != std::string::npos ||
             v.grid_conduction_source.find("common practice") != std::string::npos));
      if (!c.bias_v || !c.drive_grid_to_grid_peak_v) continue;
      // Published fixed-bias pairs: the peak drive of a grid is the bias (class AB1 to a few per cent less,
      // AB2 more); Philips' class B pair of EL84 too.
      const double share = *c.drive_grid_to_grid_peak_v / (2 * std::abs(*c.bias_v));
      CAPTURE(share);
      if (c.operating_class == "AB2") {
        CHECK(share > 1.2);
      } else {
        CHECK(share <= 1.01);
        CHECK(share >= 0.84);
      }
    }
  }
  // Philips EL84 and Sylvania 7591 data sheets
  CHECK(shipped().find_output_valve("EL84")->grid_leak_ohm_max_fixed_bias->value == 300e3);
  CHECK(shipped().find_output_valve("EL84")->grid_conduction_v == -1.3);
  CHECK(shipped().find_output_valve("7591")->grid_leak_ohm_max_self_bias->value == 1e6);
}
