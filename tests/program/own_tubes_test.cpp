// Readings of one very tube, from file to answer.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kDesign = ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json";
const std::string kTube = ANTIPHASE_SOURCE "/configs/readings/one_6SL7GT.csv";

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

json answer_to(const std::string& command) {
  const Answer answer = run(command + " --json");
  CAPTURE(answer.err);
  REQUIRE(answer.code == 0);
  return json::parse(answer.out);
}

}  // namespace

TEST_CASE("evaluate solves a design with the tube that was read, and says how far it is from its type") {
  const json type = answer_to("evaluate " + kDesign);
  CHECK_FALSE(type.contains("own_tubes"));
  const json own = answer_to("evaluate " + kDesign + " --tube-readings " + kTube);
  const json& sections = own.at("own_tubes").at(0).at("sections");
  REQUIRE(sections.size() == 2);
  // Section 1 was read at more than section 2, and the bench shows it: the plate with more current stands
  // lower.
  CHECK(sections[0].at("current_there").at("middle") > sections[1].at("current_there").at("middle"));
  const auto difference = [](const json& e) {
    const json& v = e.at("operating_point").at("plate_v");
    return v.at(0).get<double>() - v.at(1).get<double>();
  };
  CHECK(difference(own) < difference(type) - 3);
  const Answer text = run("evaluate " + kDesign + " --tube-readings " + kTube);
  CHECK(has(text.out, "A 6SL7GT of your own, read in"));
  CHECK(has(text.out, "Section 1, from 3 readings"));
}

TEST_CASE("builds with a tube that was read scatter less than those with any tube of its type") {
  const json any = answer_to("spread " + kDesign + " --samples 500");
  const json own = answer_to("spread " + kDesign + " --samples 500 --tube-readings " + kTube);
  const auto width = [](const json& spread, std::string_view name) {
    for (const json& f : spread.at("figures"))
      if (f.at("name") == name) return f.at("high").get<double>() - f.at("low").get<double>();
    FAIL("no such figure");
    return 0.0;
  };
  CHECK(width(own, "balance_pct") < width(any, "balance_pct"));
  CHECK(width(own, "supply_current_a") < width(any, "supply_current_a"));
}

TEST_CASE("a search with a tube that was read is one with this tube alone, and its designs carry it") {
  Folder folder;
  const Answer answer =
      run("search " ANTIPHASE_SOURCE "/configs/briefs/shared_main_supply.json --effort quick --quiet --json -o " +
          (folder / "out").string() + " --tube-readings " + kTube);
  CAPTURE(answer.err);
  REQUIRE(answer.code <= 1);
  const json found = json::parse(answer.out);
  CHECK(has(found.at("brief").dump(), "A 6SL7GT of your own"));
  REQUIRE(!found.at("candidates").empty());
  for (const json& c : found.at("candidates")) {
    CHECK(c.at("design").at("tube") == "6SL7GT");
    CHECK(c.at("design").at("sections").at(0).at("current") >
          c.at("design").at("sections").at(1).at("current"));
  }
}

TEST_CASE("readings of another type, of no tube there or twice of one place are refused") {
  Folder folder;
  const auto refused = [&](const std::string& text, std::string_view why, const std::string& more = "") {
    write_text(folder / "tube.csv", text);
    const std::string file = (folder / "tube.csv").string();
    const Answer answer = run("evaluate " + kDesign + " --tube-readings " + file + more);
    CHECK(answer.code == 2);
    CHECK(answer.out.empty());
    CAPTURE(answer.err);
    CHECK(has(answer.err, why));
  };
  const std::string columns = "vg_v,va_v,ia_ma\n-2,250,1.2\n";
  refused("tube,12AU7\n" + columns,
          "tube.csv:1:1: is of a 12AU7; at the splitter or gain stage stands 6SL7GT");
  refused("tube,9XX9\n" + columns, "\"9XX9\" is no type of the tube library");
  refused("place,first stage\n" + columns, "there is no tube at the first stage");
  refused("vg_v,va_v,ia_ma\n-2,250,1200\n", "tube.csv:2:1: a 6SL7GT draws about");
  refused(columns, "one tube can stand there", " --tube-readings " + kTube);
  const Answer missing = run("spread " + kDesign + " --tube-readings " + (folder / "none.csv").string());
  CHECK(missing.code == 3);
}
