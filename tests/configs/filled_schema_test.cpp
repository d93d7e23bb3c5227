/// What the schemas of designs and briefs take from the program.
#include "configs/schema/filled_schema.h"

#include <doctest/doctest.h>

#include <fstream>
#include <iterator>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "stagemodels/circuits/catalogue.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

std::string committed(const std::string& file) {
  std::ifstream in(std::string(ANTIPHASE_SOURCE) + "/configs/schema/" + file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The schema with something of what the program knows spoilt at `pointer`.
std::string spoilt(const std::string& file, const std::string& pointer, const nlohmann::ordered_json& value) {
  auto root = nlohmann::ordered_json::parse(committed(file));
  root[nlohmann::ordered_json::json_pointer(pointer)] = value;
  return root.dump();
}

/// For each member that `file` lacks: the reader says that the circuit has no such member if, and only if,
/// the schema forbids it.
template <class Read>
void both_forbid_the_same(const Json& file, const std::string& schema_file, const Json& objects,
                          Read&& errors_of) {
  const auto schema = read_schema(schema_file);
  REQUIRE(schema_error(schema, schema, file) == "");
  int forbidden = 0, allowed = 0;
  for (const auto& [name, rule] : schema["properties"].items()) {
    if (file.contains(name)) continue;
    auto more = file;
    more[name] = objects.contains(name) ? objects[name] : Json(1);
    const auto& told = name;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    const std::string errors = errors_of(more.dump());
    const bool no_meaning = errors.find("/" + name + ": has no meaning in a ") != std::string::npos;
    CHECK((schema_error(schema, schema, more) == "/" + name + " is not allowed") == no_meaning);
    ++(no_meaning ? forbidden : allowed);
  }
  CHECK(forbidden > 0);
  CHECK(allowed > 0);
}

}  // namespace

TEST_CASE("the schemas hold what the program knows (if not: write_schemas, then describe.py)") {
  for (const char* file : {"design.schema.json", "brief.schema.json"}) {
    CAPTURE(file);
    CHECK(filled_schema(file, committed(file)) == committed(file));
  }
}

TEST_CASE("what is wrong in a schema's made parts is put right") {
  struct Spoilt {
    const char *file, *pointer;
    nlohmann::ordered_json value;
  };
  const Spoilt table[] = {{"design.schema.json", "/properties/stage/enum", {"long_tailed_pair"}},
                          {"design.schema.json", "/properties/load_ohm/maximum", 5},
                          {"design.schema.json", "/properties/coupling_f/default", 1},
                          {"design.schema.json", "/properties/feedback/properties/high_hz/minimum", 5},
                          {"design.schema.json", "/properties/bias/oneOf/0/required", {"form"}},
                          {"design.schema.json", "/allOf", nlohmann::ordered_json::array()},
                          {"brief.schema.json", "/properties/stage/oneOf/0/enum", {"long_tailed_pair"}},
                          {"brief.schema.json", "/properties/rail_v/minimum", -5},
                          {"brief.schema.json", "/properties/limits/items/properties/figure/enum", {"gain"}},
                          {"brief.schema.json", "/allOf/1/then", true}};
  for (const auto& [file, pointer, value] : table) {
    const auto *name = file, *place = pointer;  // clang before 16 cannot capture a structured binding
    CAPTURE(name);
    CAPTURE(place);
    const std::string wrong = spoilt(file, pointer, value);
    CHECK(nlohmann::ordered_json::parse(wrong) != nlohmann::ordered_json::parse(committed(file)));
    CHECK(filled_schema(file, wrong) == committed(file));
  }
}

TEST_CASE("other schemas are left alone") {
  CHECK(filled_schema("tube.schema.json", "{ }") == "{ }");
}

TEST_CASE("schema and reader agree on which members a circuit has") {
  const auto library = example_library();
  const auto of_designs = Json::parse(R"({
    "bias": {"form": "self_biased", "ohm": "1k"}, "tail": {"form": "resistor", "ohm": "22k"},
    "first_stage": {"tube": "12AX7", "plate_ohm": "100k", "cathode_ohm": "1k"},
    "feedback": {"wanted_db": 12, "source_v_rms": 1, "output_gain": 0.1},
    "output_valve": {"type": "EL34", "bias_v": -38},
    "driver": {"form": "cathode_followers", "tube": "12AX7", "cathode_ohm": "22k"},
    "output_stage": {"valve": "EL34", "supply_v": 400, "screen_v": 400, "bias_v": -38, "watts": 5,
      "transformer": {"plate_to_plate_ohm": "3.4k", "load_ohm": 8}}})");
  for (const auto& design : {self_biased_design(), gain_stage_design(), chain_design()})
    both_forbid_the_same(design, "design.schema.json", of_designs, [&](const std::string& text) {
      const auto result = read_design_text(text, "d", library);
      const auto* errors = std::get_if<InputErrors>(&result);
      return errors ? in_words(*errors) : std::string();
    });
  const auto of_briefs = Json::parse(R"({
    "tail": {}, "grid_clamp": true, "rail_v": -60, "first_stage": {"tubes": ["12AX7"]},
    "driver": {"form": "long_tailed_pair", "tubes": ["12AX7"], "cathode_ohm": "22k", "plate_ohm": "47k"},
    "feedback": {"wanted_db": 12, "source_v_rms": 1, "output_gain": 0.1},
    "output_stage": {"valve": "EL34", "supply_v": 400, "screen_v": 400, "bias_v": -38, "watts": 5,
      "transformer": {"plate_to_plate_ohm": "3.4k", "load_ohm": 8}}})");
  for (const char* stage : {"long_tailed_pair", "common_cathode"}) {
    auto brief = short_brief();
    brief["stage"] = stage;
    both_forbid_the_same(brief, "brief.schema.json", of_briefs, [&](const std::string& text) {
      const auto result = read_brief_text(text, "b", library);
      const auto* errors = std::get_if<InputErrors>(&result);
      return errors ? in_words(*errors) : std::string();
    });
  }
}
