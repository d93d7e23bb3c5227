// Files of tolerances, and the member builds of a brief.
#include "configs/read_tolerances.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "stagemodels/members.h"
#include "tests/configs/example_files.h"
#include "tests/configs/json_schema.h"
#include "tests/support/program.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::test;
using antiphase::testing::Folder;
using antiphase::testing::write_text;

namespace {

Design pair() {
  static const Tube tube = antiphase::testing::tube_with(antiphase::testing::kKoren12AX7);
  return antiphase::testing::pair_of(tube);
}

Tolerances good(const std::string& text) {
  auto read = read_tolerances_text(text, "t.json", pair());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Tolerances>(read);
}

std::string bad(const std::string& text) {
  const auto read = read_tolerances_text(text, "t.json", pair());
  const auto* errors = std::get_if<InputErrors>(&read);
  return errors ? in_words(*errors) : "";
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

OrErrors<Brief> brief_with(const std::string& builds, const std::string& file = "b") {
  static const TubeLibrary library = example_library();
  return read_brief_text(patched(short_brief(), "{\"builds\": " + builds + "}").dump(2), file, library);
}

std::string errors_of(const OrErrors<Brief>& brief) {
  const auto* errors = std::get_if<InputErrors>(&brief);
  return errors ? in_words(*errors) : "";
}

constexpr const char* kAll = R"({"$schema": "../schema/tolerances.schema.json", "notes": "carbon film",
  "resistor_pct": 5, "capacitor_pct": "20 %", "mains_pct": 6, "setting_pct": 3, "mu_pct": 10,
  "plate_current_pct": 25, "emission_left": 0.7, "parts": "truncated_normal", "mains": "uniform",
  "tubes": "uniform", "single": {"/plate_ohm/0": 0.5, "/load_ohm": 10}})";

}  // namespace

TEST_CASE("every member of a file of tolerances arrives") {
  const Tolerances t = good(kAll);
  CHECK(t.resistor_pct == 5);
  CHECK(t.capacitor_pct == 20);
  CHECK(t.mains_pct == 6);
  CHECK(t.setting_pct == 3);
  CHECK(t.mu_pct == 10);
  CHECK(t.plate_current_pct == 25.0);
  CHECK(t.emission_left == 0.7);
  CHECK(t.parts == Scatter::truncated_normal);
  CHECK(t.mains == Scatter::uniform);
  CHECK(t.tubes == Scatter::uniform);
  REQUIRE(t.single.size() == 2);
  CHECK(t.single[0].part == &member::plate_ohm_0);
  CHECK(t.single[0].pct == 0.5);
  CHECK(t.single[1].part == &member::load_ohm);
}

TEST_CASE("the defaults of tolerances are those of the schema") {
  const Tolerances t = good("{}");
  const auto properties = read_schema("tolerances.schema.json")["properties"];
  CHECK(t.resistor_pct == properties["resistor_pct"]["default"]);
  CHECK(t.capacitor_pct == properties["capacitor_pct"]["default"]);
  CHECK(t.mains_pct == properties["mains_pct"]["default"]);
  CHECK(t.setting_pct == properties["setting_pct"]["default"]);
  CHECK(t.mu_pct == properties["mu_pct"]["default"]);
  CHECK(t.emission_left == properties["emission_left"]["default"]);
  CHECK_FALSE(t.plate_current_pct);
  const auto name = [](Scatter s) { return s == Scatter::uniform ? "uniform" : "truncated_normal"; };
  CHECK(name(t.parts) == properties["parts"]["default"]);
  CHECK(name(t.mains) == properties["mains"]["default"]);
  CHECK(name(t.tubes) == properties["tubes"]["default"]);
}

TEST_CASE("the schema of tolerances takes what the reader takes, here and in a brief") {
  const auto schema = read_schema("tolerances.schema.json"), brief = read_schema("brief.schema.json");
  CHECK(schema_error(schema, schema, Json::parse(kAll)) == "");
  CHECK(schema_error(schema, schema, Json::parse(R"({"resistor_pct": 80})")) != "");
  CHECK(schema_error(schema, schema, Json::parse(R"({"resistors": 5})")) != "");
  CHECK(brief["definitions"]["tolerances"]["properties"] == schema["properties"]);
  Json parts = Json::array(), listed = Json::array();
  for (const DesignField& f : design_fields())
    if (f.role == FieldRole::resistor || f.role == FieldRole::capacitor || f.role == FieldRole::setting ||
        f.pointer == "/load_ohm")
      parts.push_back(f.pointer);
  for (const auto& [pointer, rule] : schema["properties"]["single"]["properties"].items())
    listed.push_back(pointer);
  std::sort(parts.begin(), parts.end());
  CHECK(listed == parts);
  for (const auto& example : schema["examples"]) {
    CHECK(schema_error(schema, schema, example) == "");
    good(example.dump());
  }
}

TEST_CASE("wrong tolerances are told with line and place") {
  CHECK(has(bad("{\n \"resistor_pct\": 80}"), "t.json:2:"));
  CHECK(has(bad(R"({"resistor_pct": 80})"), "/resistor_pct: must be from 0 % to 50 %"));
  CHECK(has(bad(R"({"emission_left": 0.1})"), "/emission_left"));
  CHECK(has(bad(R"({"tubes": "gaussian"})"), "/tubes"));
  CHECK(has(bad(R"({"tubes": "gaussian"})"), "truncated_normal"));
  CHECK(has(bad(R"({"resistors": 5})"), "/resistors: is not a known member"));
  CHECK(has(bad(R"({"single": {"/cathode_ohm": 1}})"), "is not a known member"));  // a pair has none
  CHECK(has(bad(R"({"single": {"/plate_ohm/0": -1}})"), "must be"));
  CHECK(has(bad("[]"), "must be an object"));
}

TEST_CASE("a brief says how builds count") {
  const auto read = brief_with(R"({"rank_by": "percentile", "percentile": "90 %", "count": 500,
    "tolerances": {"resistor_pct": 5, "single": {"/plate_ohm/1": 1}}})");
  REQUIRE_MESSAGE(std::holds_alternative<Brief>(read), errors_of(read));
  const Brief& brief = std::get<Brief>(read);
  REQUIRE(brief.builds);
  CHECK(brief.builds->rank_by == RankBy::percentile);
  CHECK(within_ratio(brief.builds->percentile, 0.9, 1e-12));
  CHECK(brief.builds->builds == 500);
  CHECK(brief.builds->tolerances.resistor_pct == 5);
  CHECK(brief.builds->tolerances.single.size() == 1);
  const auto words = brief_in_words(brief);
  CHECK(std::any_of(words.begin(), words.end(), [](const std::string& w) {
    return has(w, "Ranked by the score that 90 % of 500 builds") && has(w, "resistors within 5 %");
  }));
  CHECK_FALSE(std::get<Brief>(brief_with("null")).builds);
  const auto plain = brief_with(R"({"rank_by": "yield"})");
  CHECK(std::get<Brief>(plain).builds->percentile == 0.95);
  CHECK(std::get<Brief>(plain).builds->builds == 2000);
}

TEST_CASE("what is wrong with the builds of a brief is told with its place") {
  CHECK(has(errors_of(brief_with("{}")), "/builds/rank_by: is missing: "));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "luck"})")), "/builds/rank_by"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "percentile": 20})")),
            "/builds/percentile: must be from 50 %"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "nominal", "percentile": 90})")),
            "/builds/percentile: has no meaning"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "count": 10})")), "/builds/count"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "builds": 10})")),
            "/builds/builds: is not a known member"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "tolerances": 5})")), "/builds/tolerances"));
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "tolerances": {"single": {"/cathode_ohm": 1}}})")),
            "/builds/tolerances/single"));
}

TEST_CASE("tolerances may stand in a file beside the brief, which is part of its digest") {
  Folder folder;
  const std::string brief = (folder / "b.json").string();
  const std::string builds = R"({"rank_by": "yield", "tolerances": "film.json"})";
  CHECK(has(errors_of(brief_with(builds, brief)), "film.json"));  // is not there
  CHECK(has(errors_of(brief_with(R"({"rank_by": "yield", "tolerances": "../film.json"})", brief)),
            "without folders"));
  write_text(folder / "film.json", "{\n \"resistor_pct\": 99}");
  CHECK(has(errors_of(brief_with(builds, brief)),
            "/builds/tolerances: film.json, line 2, /resistor_pct: must be"));
  write_text(folder / "film.json", R"({"resistor_pct": 5})");
  const auto five = brief_with(builds, brief);
  REQUIRE_MESSAGE(std::holds_alternative<Brief>(five), errors_of(five));
  CHECK(std::get<Brief>(five).builds->tolerances.resistor_pct == 5);
  write_text(folder / "film.json", R"({"resistor_pct": 2})");
  CHECK(std::get<Brief>(brief_with(builds, brief)).digest != std::get<Brief>(five).digest);
}
