#include "configs/read_design.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "stagemodels/design_fields.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

Json direct_coupled_on_sink() {
  return patched(self_biased_design(), R"({"bias": {"form": "direct_coupled", "ohm": null, "grid_v": 75},
    "tail": {"form": "constant_current", "ohm": null, "current_a": "6m"}})");
}

/// The one error expected, or what was reported instead.
std::string error_of(const Json& design, const TubeLibrary& library, const std::string& pointer,
                     const std::string& description) {
  const auto result = read_design_text(design.dump(1), "design", library);
  return std::holds_alternative<InputErrors>(result)
             ? other_than(std::get<InputErrors>(result), pointer, description)
             : "no fault";
}

}  // namespace

TEST_CASE("a design arrives with its numbers, and what is left out has its default") {
  const auto library = example_library();
  const auto result = read_design_text(self_biased_design().dump(), "design", library);
  REQUIRE(std::holds_alternative<Design>(result));
  const auto& d = std::get<Design>(result);
  CHECK(d.circuit == CircuitKind::long_tailed_pair);
  CHECK(d.tube[0] == library.find("12AX7"));
  CHECK(d.tube[1] == d.tube[0]);
  CHECK(d.supply_v == 320.0);
  CHECK(d.plate_ohm[0] == 150e3);
  CHECK(d.plate_ohm[1] == 160e3);
  CHECK(d.bias.form == BiasForm::self_biased);
  CHECK(d.bias.ohm == 1500.0);
  CHECK(d.tail.ohm == 27e3);
  CHECK(d.load_ohm == 220e3);
  CHECK(d.swing_peak_v == 32.0);
  CHECK(d.grid_leak_ohm == Design{}.grid_leak_ohm);
  CHECK(d.clean_limit_pct == 3.0);
}

TEST_CASE("sections may differ from their type, one entry for each") {
  const auto library = example_library();
  const auto design = patched(self_biased_design(), R"({"sections": [{"current": 1.1}, {"mu": 0.95}]})");
  const auto schema = read_schema("design.schema.json");
  CHECK(schema_error(schema, schema, design) == "");
  const auto d = std::get<Design>(read_design_text(design.dump(), "d", library));
  CHECK(d.spread[0] == SectionSpread{1.1, 1});
  CHECK(d.spread[1] == SectionSpread{1, 0.95});
  CHECK(error_of(patched(self_biased_design(), R"({"sections": [{"current": 1.1}]})"), library, "/sections",
                 "2") == "");
  CHECK(error_of(patched(self_biased_design(), R"({"sections": [{"current": 11}, {}]})"), library,
                 "/sections/0/current", "3") == "");
  CHECK(error_of(patched(self_biased_design(), R"({"sections": [{}, {"gm": 1}]})"), library, "/sections/1/gm",
                 "") == "");
}

TEST_CASE("every form and circuit can be read") {
  const auto library = example_library();
  const auto sink = std::get<Design>(read_design_text(direct_coupled_on_sink().dump(), "d", library));
  CHECK(sink.bias.grid_v == 75.0);
  CHECK(sink.tail.form == TailForm::constant_current);
  CHECK(sink.tail.current_a == 6e-3);
  CHECK(sink.tail.output_ohm == Tail{}.output_ohm);
  const auto rail = std::get<Design>(read_design_text(
      patched(self_biased_design(), R"({"bias": {"form": "negative_rail", "ohm": null, "rail_v": -100}})")
          .dump(),
      "d", library));
  CHECK(rail.bias.rail_v == -100.0);
  const auto gain = std::get<Design>(read_design_text(gain_stage_design().dump(), "d", library));
  CHECK(gain.circuit == CircuitKind::common_cathode);
  CHECK(gain.plate_ohm[0] == 100e3);
  CHECK(gain.cathode_ohm == 1500.0);
  CHECK(gain.tube[0] != nullptr);
  const auto list = patched(gain_stage_design(), R"({"plate_ohm": ["47k"]})");
  CHECK(std::get<Design>(read_design_text(list.dump(), "d", library)).plate_ohm[0] == 47e3);
}

TEST_CASE("a design behind a dropping resistor has no supply of its own, and an output valve has its bias") {
  const auto library = example_library();
  const auto d = std::get<Design>(read_design_text(dropped_design().dump(), "d", library));
  CHECK(d.main_supply_v == 400.0);
  CHECK(d.supply_v == 0.0);
  CHECK(d.dropping_ohm == 33e3);
  CHECK(d.reservoir_f == 22e-6);
  CHECK(d.bias.grid_clamp);
  CHECK(d.output_valve == library.find_output_valve("EL34"));
  CHECK(d.output_valve_bias_v == -38.0);
  CHECK(d.output_valve_bias == OutputBias::fixed);
  const auto cathode = patched(dropped_design(), R"({"output_valve": {"bias": "cathode", "bias_v": -9}})");
  CHECK(std::get<Design>(read_design_text(cathode.dump(), "d", library)).output_valve_bias ==
        OutputBias::cathode);
  const auto plain = std::get<Design>(read_design_text(self_biased_design().dump(), "d", library));
  CHECK(plain.output_valve == nullptr);
  CHECK_FALSE(plain.bias.grid_clamp);
}

TEST_CASE("two sections may be of two types") {
  const auto library = example_library();
  const auto text = patched(self_biased_design(), R"({"tube": ["ECC83", "6sn7gt"]})").dump();
  const auto d = std::get<Design>(read_design_text(text, "d", library));
  CHECK(d.tube[0] == library.find("12AX7"));
  CHECK(d.tube[1] == library.find("6SN7GT"));
}

TEST_CASE("each wrong member of a design is one fault at its place, and the schema sees it too") {
  const auto library = example_library();
  const auto schema = read_schema("design.schema.json");
  struct Group {
    Json base;
    std::vector<BadFile> table;
  };
  const std::vector<Group> groups{
      {self_biased_design(),
       {{R"({"stage": null})", "/stage", "is missing: " + every_circuit()},
        {R"({"stage": "long_tail_pair"})", "/stage", "did you mean \"long_tailed_pair\"?"},
        {R"({"tube": null})", "/tube", "is missing"},
        {R"({"tube": "12AX8"})", "/tube", "no tube card of a \"12AX8\"; did you mean \"12AX7\"", false},
        {R"({"tube": ["12AX7"]})", "/tube", "must have 2 items, has 1"},
        {R"({"tube": ["12AX7", "XYZ"]})", "/tube/1",
         "no tube card of a \"XYZ\"; there are 12AU7, 12AX7 and 6SN7GT", false},
        {R"({"tube": 12})", "/tube", "must be text, is 12"},
        {R"({"supply_v": null})", "/supply_v", "is missing: supply in V"},
        {R"({"supply_v": 0})", "/supply_v", "must be from 1 V to 2 kV, is 0 V"},
        {R"({"supply_v": "320 mA"})", "/supply_v", "is a current, where a voltage"},
        {R"({"supply_v": [320]})", "/supply_v", "is a list"},
        {R"({"plate_ohm": null})", "/plate_ohm", "is missing"},
        {R"({"plate_ohm": "150k"})", "/plate_ohm", "must be a list of the two plate resistors"},
        {R"({"plate_ohm": ["150k"]})", "/plate_ohm", "must have 2 items, has 1"},
        {R"({"plate_ohm": ["150k", "150k", "150k"]})", "/plate_ohm", "must have 2 items, has 3"},
        {R"({"plate_ohm": ["150k", "0R1"]})", "/plate_ohm/1",
         "must be from 1 \u03a9 to 100 M\u03a9, is 100 m\u03a9", false},
        {R"({"plate_ohm": ["150k", 0.1]})", "/plate_ohm/1",
         "must be from 1 \u03a9 to 100 M\u03a9, is 100 m\u03a9"},
        {R"({"bias": null})", "/bias", "is missing"},
        {R"({"bias": {"form": null}})", "/bias/form", "is missing"},
        {R"({"bias": {"form": "fixed"}})", "/bias/form",
         "must be \"self_biased\", \"direct_coupled\" or \"negative_rail\""},
        {R"({"bias": {"ohm": null}})", "/bias/ohm", "is missing: bias resistor in ohm"},
        {R"({"bias": {"grid_v": 60}})", "/bias/grid_v",
         "has no meaning with self_biased bias; it belongs to direct_coupled"},
        {R"({"bias": {"rail_v": -60}})", "/bias/rail_v",
         "has no meaning with self_biased bias; it belongs to negative_rail"},
        {R"({"bias": "self_biased"})", "/bias", "must be an object {}"},
        {R"({"tail": {"current_a": "3m"}})", "/tail/current_a",
         "has no meaning with a resistor tail; it belongs to constant_current"},
        {R"({"tail": {"ohms": 3}})", "/tail/ohms", "is not a known member"},
        {R"({"cathode_ohm": "1k"})", "/cathode_ohm", "has no meaning in a long_tailed_pair stage"},
        {R"({"load_ohm": null})", "/load_ohm", "is missing"},
        {R"({"load_f": "60 p F"})", "/load_f", "must be a number in F"},
        {R"({"load_f": 60})", "/load_f", "must be from 0 F to 1 \u00b5F, is 60 F"},
        {R"({"heater_v": -1001})", "/heater_v", "from -1 kV to 1 kV"},
        {R"({"swing_peak_v": -1})", "/swing_peak_v", "from 1 mV to 1 kV"},
        {R"({"clean_limit_pct": "0 %"})", "/clean_limit_pct", "from 0.001 % to 50 %", false},
        {R"({"first_stage": {}})", "/first_stage", "has no meaning in a long_tailed_pair stage"},
        {R"({"feedback": {}})", "/feedback", "has no meaning in a long_tailed_pair stage"},
        {R"({"main_supply_v": 400, "dropping_ohm": "10k"})", "/supply_v",
         "is solved from main_supply_v and dropping_ohm, and evaluate prints it; leave it out"},
        {R"({"dropping_ohm": "10k"})", "/dropping_ohm", "has no meaning without main_supply_v"},
        {R"({"reservoir_f": "10u"})", "/reservoir_f", "has no meaning without main_supply_v"},
        {R"({"bias": {"grid_clamp": true}})", "/bias/grid_clamp",
         "has no meaning with self_biased bias; it belongs to direct_coupled"},
        {R"({"cathode_bypass_f": "100u"})", "/cathode_bypass_f",
         "has no meaning in a long_tailed_pair stage"},
        {R"({"output_valve": "EL34"})", "/output_valve", "must be an object {}, is \"EL34\""},
        {R"({"output_valve": {"type": "EL35", "bias_v": -38}})", "/output_valve/type",
         "no output valve card of a \"EL35\"; did you mean \"EL34\"", false},
        {R"({"output_valve": {"type": "6550"  , "bias_v": -38}})", "/output_valve/type",
         "no output valve card of a \"6550\"; there are 300B, EL34 and EL84", false},
        {R"({"output_valve": {"type": "EL34"}})", "/output_valve/bias_v", "is missing"},
        {R"({"output_valve": {"type": "EL34", "bias": "grid", "bias_v": -38}})", "/output_valve/bias",
         "must be \"fixed\" or \"cathode\""},
        {R"({"output_valve": {"type": "EL34", "bias_v": 38}})", "/output_valve/bias_v",
         "from -300 V to -10 mV, is 38 V"},
        {R"({"output_valve": {"type": "EL34", "bias_v": -38, "class": "B"}})", "/output_valve/class",
         "is not a known member"},
        {R"({"suply_v": 300})", "/suply_v", "is not a known member here"},
        {R"({"title": ""})", "/title", "must not be empty"},
        {R"({"notes": [3]})", "/notes/0", "must be text"}}},
      {direct_coupled_on_sink(),
       {{R"({"tail": {"ohm": "27k"}})", "/tail/ohm",
         "has no meaning with a constant_current tail; it belongs to resistor"},
        {R"({"tail": {"compliance_v": -3}})", "/tail/compliance_v", "from 0 V to 500 V"},
        {R"({"tail": {"output_ohm": "2"}})", "/tail/output_ohm", "from 1 k\u03a9 to 1 T\u03a9", false},
        {R"({"bias": {"ohm": "1k"}})", "/bias/ohm",
         "has no meaning with direct_coupled bias; it belongs to self_biased"},
        {R"({"bias": {"grid_v": 320}})", "/bias/grid_v", "must be below supply_v, 320 V, is 320 V", false}}},
      {dropped_design(),
       {{R"({"dropping_ohm": null})", "/dropping_ohm", "is missing: dropping resistor in ohm"},
        {R"({"supply_v": 300})", "/supply_v", "is solved from main_supply_v"},
        {R"({"main_supply_v": 0})", "/main_supply_v", "from 1 V to 2 kV, is 0 V"},
        {R"({"main_supply_v": [400]})", "/main_supply_v", "is a list"},
        {R"({"dropping_ohm": 0})", "/dropping_ohm", "from 1 \u03a9 to 100 M\u03a9"},
        {R"({"reservoir_f": -1})", "/reservoir_f", "from 0 F to 1 F"},
        {R"({"bias": {"grid_v": 400}})", "/bias/grid_v", "must be below main_supply_v, 400 V, is 400 V",
         false},
        {R"({"bias": {"grid_clamp": "yes"}})", "/bias/grid_clamp", "must be true or false, is \"yes\""},
        {R"({"input_coupling_f": "10n"})", "/input_coupling_f",
         "has no meaning with direct_coupled bias; it belongs to self_biased", false}}},
      {gain_stage_design(),
       {{R"({"output_valve": {"type": "EL34", "bias_v": -38}})", "/output_valve",
         "has no meaning in a common_cathode stage"},
        {R"({"cathode_unbypassed_ohm": "1k5", "cathode_bypass_f": "100u"})", "/cathode_bypass_f",
         "has no meaning where no part of cathode_ohm is bypassed", false},
        {R"({"bias": {"form": "self_biased", "ohm": "1k"}})", "/bias",
         "has no meaning in a common_cathode stage"},
        {R"({"tail": {"form": "resistor", "ohm": "1k"}})", "/tail",
         "has no meaning in a common_cathode stage"},
        {R"({"grid_bypass_f": "100n"})", "/grid_bypass_f", "has no meaning in a common_cathode stage"},
        {R"({"tube": ["12AX7", "12AX7"]})", "/tube", "one section"},
        {R"({"plate_ohm": ["100k", "100k"]})", "/plate_ohm", "must have 1 item, has 2"},
        {R"({"plate_ohm": "100 kV"})", "/plate_ohm", "is a voltage, where a resistance"},
        {R"({"cathode_ohm": null})", "/cathode_ohm", "is missing: cathode resistor in ohm"},
        {R"({"cathode_unbypassed_ohm": "1k6"})", "/cathode_unbypassed_ohm",
         "at most 1.5 k\u03a9, is 1.6 k\u03a9", false}}}};
  for (const auto& group : groups) {
    REQUIRE(schema_error(schema, schema, group.base) == "");
    for (const auto& row : group.table) {
      CAPTURE(row.patch);
      const auto design = patched(group.base, row.patch);
      CHECK(error_of(design, library, row.pointer, row.description) == "");
      const auto seen = schema_error(schema, schema, design);
      CAPTURE(seen);
      CHECK((seen != "") == row.schema_sees);
    }
  }
}

TEST_CASE("a misspelt member is told with the right name, even if the stage is not known") {
  const auto library = example_library();
  const auto design =
      patched(self_biased_design(),
              R"({"stage": null, "stge": "long_tailed_pair", "load_ohm": null, "lode_ohm": 1})");
  const auto words = in_words(std::get<InputErrors>(read_design_text(design.dump(1), "d", library)));
  CHECK(words.find("/stge: is not a known member here; did you mean \"stage\"?") != std::string::npos);
  CHECK(words.find("/lode_ohm: is not a known member here; did you mean \"load_ohm\"?") != std::string::npos);
}

TEST_CASE("all faults of a design are told at once, in the order of the file, with line and column") {
  const auto library = example_library();
  const std::string text = R"({
  "stage": "long_tailed_pair",
  "tube": "12AX8",
  "supply_v": "abc",
  "plate_ohm": ["150k", "-1"],
  "bias": {"form": "self_biased", "ohm": "1.5k"},
  "tail": {"form": "constant_current", "current_a": "3m", "ohm": "27k"},
  "load_ohm": "220k",
  "swing_peak": 32
})";
  CHECK(in_words(std::get<InputErrors>(read_design_text(text, "d.json", library))) ==
        "d.json:1:1: /swing_peak_v: is missing: target swing per output, peak in V\n"
        "d.json:3:11: /tube: there is no tube card of a \"12AX8\"; did you mean \"12AX7\"?\n"
        "d.json:4:15: /supply_v: must be a number in V such as 300, \"0.3k\" or \"300 V\", is \"abc\"\n"
        "d.json:5:25: /plate_ohm/1: must be from 1 \u03a9 to 100 M\u03a9, is -1 \u03a9\n"
        "d.json:7:66: /tail/ohm: has no meaning with a constant_current tail; it belongs to resistor\n"
        "d.json:9:3: /swing_peak: is not a known member here; did you mean \"swing_peak_v\"?\n");
}

TEST_CASE("the reader and the schema know the same members of a design") {
  const auto schema = read_schema("design.schema.json");
  // Every field of the table stands in the schema, with its range.
  for (const auto& field : design_fields()) {
    CAPTURE(field.pointer);
    const std::string path(field.pointer.substr(1));
    const auto slash = path.find('/');
    std::vector<Json> places;
    if (slash == std::string::npos) {
      places.push_back(schema["properties"].at(path));
    } else if (const auto& whole = schema["properties"].at(path.substr(0, slash));
               whole.contains("properties")) {  // an object of one form
      places.push_back(whole["properties"].at(path.substr(slash + 1)));
    } else if (path.substr(0, slash) == "plate_ohm") {
      places.push_back(schema["properties"]["plate_ohm"]["items"]);
    } else {
      for (const auto& form : schema["properties"].at(path.substr(0, slash))["oneOf"])
        if (form["properties"].contains(path.substr(slash + 1)))
          places.push_back(form["properties"][path.substr(slash + 1)]);
    }
    REQUIRE(!places.empty());
    for (const Json& place : places) {
      CHECK(place["minimum"] == field.low);
      CHECK(place["maximum"] == field.high);
      if (place.contains("default"))
        CHECK(place["default"] == field.value(Design{}));
      else
        CHECK(field.required);
    }
  }
  // And every member of the schema is one the reader knows.
  const auto library = example_library();
  for (const auto& [name, rule] : schema["properties"].items()) {
    const auto& told = name;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    auto design = self_biased_design();
    design[name] = Json{{"", 0}};
    const auto words = in_words(std::get<InputErrors>(read_design_text(design.dump(), "d", library)));
    CHECK(words.find("/" + name + ": is not a known member") == std::string::npos);
  }
}

TEST_CASE("the example designs and those in the schema are good") {
  const auto schema = read_schema("design.schema.json");
  int count = 0;
  const auto cards = read_tube_library(std::string(ANTIPHASE_SOURCE) + "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(cards));
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(ANTIPHASE_SOURCE) + "/configs/designs")) {
    CAPTURE(entry.path().string());
    const auto result = read_design(entry.path().string(), std::get<TubeLibrary>(cards));
    if (const auto* errors = std::get_if<InputErrors>(&result)) CHECK(in_words(*errors) == "");
    std::ifstream in(entry.path());
    const auto json = Json::parse(in);
    CHECK(schema_error(schema, schema, json) == "");
    CHECK(json.contains("$schema"));
    ++count;
  }
  CHECK(count >= 6);
  for (const auto& example : schema["examples"]) {
    CHECK(schema_error(schema, schema, example) == "");
    CHECK(std::holds_alternative<Design>(
        read_design_text(example.dump(), "example", std::get<TubeLibrary>(cards))));
  }
}

TEST_CASE("a design file that is missing is unreadable, not wrong") {
  const auto library = example_library();
  CHECK(std::get<InputErrors>(read_design("/no/such/file", library)).unreadable);
  CHECK_FALSE(std::get<InputErrors>(read_design_text("{", "d", library)).unreadable);
}

TEST_CASE("a chain is read, and what does not go together in it is told") {
  const auto library = example_library();
  const auto read = read_design_text(chain_design().dump(), "d", library);
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  const auto chain = std::get<Design>(read);
  CHECK(chain.circuit == CircuitKind::gain_and_splitter);
  CHECK(direct_first_stage(chain));
  CHECK(chain.first_stage.tube != nullptr);
  CHECK(chain.first_stage.plate_ohm == 220e3);
  CHECK(chain.first_stage.cathode_unbypassed_ohm == 100.0);
  CHECK(chain.feedback.given);
  CHECK(chain.feedback.wanted_db == 8.0);
  CHECK(chain.feedback.load_ohm == 8.0);  // left out
  struct Wrong {
    const char* patch;
    const char* description;
  };
  for (const Wrong& w :
       {Wrong{R"({"first_stage": null})", "/first_stage: is missing"},
        Wrong{R"({"first_stage": {"tube": null}})", "/first_stage/tube"},
        Wrong{R"({"first_stage": {"coupling": "capacitor"}})", "does not go with direct_coupled"},
        Wrong{R"({"first_stage": {"coupling_f": "47n"}})", "/first_stage/coupling_f"},
        Wrong{R"({"first_stage": {"cathode_unbypassed_ohm": "2k"}})", "is a part of cathode_ohm"},
        Wrong{R"({"bias": {"grid_v": 80}})", "/bias/grid_v"},
        Wrong{R"({"first_stage": {"cathode_unbypassed_ohm": 0}})", "needs a place to come in"},
        Wrong{R"({"feedback": {"wanted_db": null}})", "/feedback/wanted_db: is missing"},
        Wrong{R"({"feedback": {"wanted": 3}})", "/feedback/wanted: is not a known member"}}) {
    CAPTURE(w.patch);
    const auto result = read_design_text(patched(chain_design(), w.patch).dump(), "d", library);
    REQUIRE(std::holds_alternative<InputErrors>(result));
    CHECK(in_words(std::get<InputErrors>(result)).find(w.description) != std::string::npos);
  }
}
