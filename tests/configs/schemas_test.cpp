/// The JSON Schemas against the readers, the tables and the files they describe.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>

#include "configs/read_brief.h"
#include "configs/read_design.h"
#include "results/text/read_quantity.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"

using namespace antiphase;
using namespace antiphase::test;

namespace {

/// Each parameter of a law stands in its branch of the card's schema, with range and default.
template <class Law>
void check_law(const Json& schema) {
  for (const auto& branch : schema["properties"]["models"]["items"]["oneOf"]) {
    const auto& properties = branch["properties"];
    if (properties["form"]["const"] != Law::kForm) continue;
    std::size_t count = Law::fields().size() + 3;  // and "form", "credible" and "source"
    if constexpr (requires { Law::lists(); })
      for (const auto& given : Law::lists()) {
        const std::string name(given.name);
        CHECK(properties[name]["minItems"] == given.size);
        CHECK(properties[name]["maxItems"] == given.size);
        CHECK(properties[name]["items"]["minimum"] == given.low);
        CHECK(properties[name]["items"]["maximum"] == given.high);
        ++count;
      }
    CHECK(properties.size() == count);
    for (const auto& field : Law::fields()) {
      const std::string name(field.name);
      CAPTURE(name);
      CHECK(properties[name]["minimum"] == field.low);
      CHECK(properties[name]["maximum"] == field.high);
      const bool required = Law{}.*field.member != 0;
      const auto& list = branch["required"];
      CHECK((std::find(list.begin(), list.end(), name) != list.end()) == required);
    }
    return;
  }
  FAIL("the schema of cards has no law " << Law::kForm);
}

/// Puts each of many odd values in the place of each value of `file`; counts what `read` accepts.
/// A schema must not refuse what the reader takes (the other way round it may be laxer).
template <class Read>
void put_odd_values(const Json& file, const Json& schema, Read&& read) {
  const Json odd =
      Json::parse(R"([null, true, 0, -1, 1, 2, 0.5, 1e300, 1e-300, "", " ", "x", "1k", "5 V", "12AX7",
    "resistor", "negative_rail", "E12", [], [1], ["12AU7"], [1, 2], {}, {"form": "resistor"}, {"from": 1, "to": 2}])");
  int accepted = 0, refused = 0;
  std::set<std::string> places;
  const auto leaves = file.flatten();
  for (const auto& [pointer, ignored] : leaves.items())
    for (Json::json_pointer place(pointer); !place.empty(); place = place.parent_pointer())
      places.insert(place.to_string());
  for (const auto& place : places) {
    for (const auto& value : odd) {
      auto changed = file;
      changed[Json::json_pointer(place)] = value;
      CAPTURE(place);
      CAPTURE(value.dump());
      if (!read(changed.dump())) {
        ++refused;
        continue;
      }
      ++accepted;
      CHECK(schema_error(schema, schema, changed) == "");
    }
  }
  CHECK(accepted > 10);  // otherwise this would test nothing
  CHECK(refused > 100);
}

}  // namespace

TEST_CASE("the laws in the schema of cards are those of the program") {
  const auto schema = read_schema("tube.schema.json");
  CHECK(schema["properties"]["models"]["items"]["oneOf"].size() == std::variant_size_v<TriodeLaw>);
  check_law<Koren1996>(schema);
  check_law<DempwolfZoelzer2011>(schema);
  check_law<ChildLangmuir>(schema);
  check_law<MeasuredSurface>(schema);
  check_law<IslandTriode>(schema);
}

TEST_CASE("every card obeys the schema") {
  const auto schema = read_schema("tube.schema.json");
  int count = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(ANTIPHASE_SOURCE) + "/configs/tubes")) {
    CAPTURE(entry.path().string());
    std::ifstream in(entry.path());
    CHECK(schema_error(schema, schema, Json::parse(in)) == "");
    ++count;
  }
  CHECK(count >= 14);
}

TEST_CASE("the patterns of the schemas allow the texts that the reader reads and no others") {
  const std::vector<std::string> texts{
      "47k",   "4k7",    "680",         "100n",   "1.5mA",     "1.5 mA",  "2.2\u00b5F", "2.2\u03bcF",
      "2u2",   "2u2 F",  "1M5",         "0R47",   "0\u03a947", "47R",     "47 \u03a9",  "47 ohm",
      "4K7",   "10%",    "0.5 %",       "1e-3",   "1E+3 V",    "-38 V",   "\u221238",   "+5V",
      ".5",    " 60p ",  "1.6\u202fpF", "1.25mS", "1 W",       "300 V^2", "",           " ",
      "V",     "k",      "k47",         "1e3k",   "4k7k",      "4.7k3",   "nan",        "inf",
      "0x10",  "5.",     "1..5",        "1,5",    "--5",       "- 5",     "5 5",        "5kk",
      "5 k V", "5kR",    "5R",          "1e",     "1 e3",      "5K",      "1_000",      "5\n",
      "5 v",   "twelve", "3 dB",        "1e3 R",  "10 Hz",     "1kHz"};
  const std::vector<std::pair<std::string, std::string>> kinds{
      {"volt", "V"},    {"ampere", "A"}, {"ohm", "ohm"},   {"farad", "F"}, {"hertz", "Hz"},
      {"siemens", "S"}, {"watt", "W"},   {"percent", "%"}, {"pure", "1"}};
  for (const char* file : {"brief.schema.json", "design.schema.json", "tube.schema.json",
                           "output_valve.schema.json", "tolerances.schema.json"}) {
    const auto definitions = read_schema(file)["definitions"];
    for (const auto& [kind, unit] : kinds) {
      if (!definitions.contains(kind)) continue;
      const std::regex pattern(definitions[kind]["pattern"].get<std::string>());
      for (const auto& text : texts) {
        CAPTURE(file);
        const auto& told = kind;  // clang before 16 cannot capture a structured binding
        CAPTURE(told);
        CAPTURE(text);
        CHECK(std::regex_search(text, pattern) == read_quantity(text, unit).has_value());
      }
    }
  }
}

TEST_CASE("the figures of the schema are those of the table of figures") {
  const auto schema = read_schema("brief.schema.json");
  Json names = Json::array();
  for (const auto& f : figures()) names.push_back(f.name);
  CHECK(schema["properties"]["objectives"]["items"]["properties"]["figure"]["enum"] == names);
  CHECK(schema["properties"]["limits"]["items"]["properties"]["figure"]["enum"] == names);
}

TEST_CASE("every member of the brief schema is one the reader knows") {
  const auto library = example_library();
  const auto schema = read_schema("brief.schema.json");
  int count = 0;
  for (const auto& [name, rule] : schema["properties"].items()) {
    ++count;
    const auto& told = name;  // clang before 16 cannot capture a structured binding
    CAPTURE(told);
    auto brief = short_brief();
    brief[name] = Json{{"", 0}};
    const auto words = in_words(std::get<InputErrors>(read_brief_text(brief.dump(), "b", library)));
    CHECK(words.find("/" + name + ": is not a known member") == std::string::npos);
  }
  CHECK(count > 10);
}

TEST_CASE("the example briefs and those in the schema are good") {
  const auto schema = read_schema("brief.schema.json");
  const auto cards = read_tube_library(std::string(ANTIPHASE_SOURCE) + "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(cards));
  int count = 0;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::string(ANTIPHASE_SOURCE) + "/configs/briefs")) {
    if (entry.path().extension() != ".json") continue;  // a list of parts
    CAPTURE(entry.path().string());
    const auto result = read_brief(entry.path().string(), std::get<TubeLibrary>(cards));
    if (const auto* errors = std::get_if<InputErrors>(&result)) CHECK(in_words(*errors) == "");
    std::ifstream in(entry.path());
    CHECK(schema_error(schema, schema, Json::parse(in)) == "");
    ++count;
  }
  CHECK(count >= 1);
  for (const auto& example : schema["examples"]) {
    CHECK(schema_error(schema, schema, example) == "");
    CHECK(std::holds_alternative<Brief>(
        read_brief_text(example.dump(), "example", std::get<TubeLibrary>(cards))));
  }
}

TEST_CASE("a schema never refuses what the reader takes, and no odd value upsets the reader") {
  const auto library = example_library();
  put_odd_values(whole_brief(), read_schema("brief.schema.json"), [&](const std::string& text) {
    return std::holds_alternative<Brief>(read_brief_text(text, "b", library));
  });
  for (const auto& design : {self_biased_design(), gain_stage_design(), dropped_design(), chain_design()})
    put_odd_values(design, read_schema("design.schema.json"), [&](const std::string& text) {
      return std::holds_alternative<Design>(read_design_text(text, "d", library));
    });
  put_odd_values(whole_card(), read_schema("tube.schema.json"), [&](const std::string& text) {
    return std::holds_alternative<Tube>(read_tube_text(text, "c"));
  });
  put_odd_values(whole_output_valve(), read_schema("output_valve.schema.json"), [&](const std::string& text) {
    return std::holds_alternative<OutputValve>(read_output_valve_text(text, "c"));
  });
}
