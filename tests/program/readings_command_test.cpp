// Readings of a box from file to answer, as their user meets them.
#include <doctest/doctest.h>

#include <cstdio>
#include <nlohmann/json.hpp>

#include "tests/support/program.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

const std::string kDesign = ANTIPHASE_SOURCE "/configs/designs/high_mu_self_biased.json";

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

/// What the measuring sheet's JSON expects of a sound box, or says of a fault by name, as a file of readings.
std::string readings_of(const json& sheet, const std::string& fault) {
  std::string text;
  for (const json& row : sheet.at("rest")) {
    double volts = row.at("nominal").get<double>();
    for (const json& f : sheet.at("faults"))
      if (f.at("name") == fault && f.contains(row.at("name").get<std::string>()))
        volts = f.at(row.at("name").get<std::string>()).get<double>();
    char value[40];
    std::snprintf(value, sizeof value, "%.1f", volts);
    if (row.at("name") != "grid_v" && row.at("name") != "leak_node_v")  // a real meter reads those low
      text += row.at("label").get<std::string>() + "," + value + " V\n";
  }
  return text;
}

json sheet() {
  const Answer answer = run("spread " + kDesign + " --samples 200 --json");
  REQUIRE(answer.code == 0);
  return json::parse(answer.out).at("measuring_sheet");
}

json answer_to(const std::string& text, const std::string& more = "") {
  Folder folder;
  write_text(folder / "meter.csv", text);
  const Answer answer = run("readings " + kDesign + " " + (folder / "meter.csv").string() + " --json" + more);
  CAPTURE(answer.err);
  REQUIRE(answer.code == 0);
  return json::parse(answer.out);
}

}  // namespace

TEST_CASE("what the sheet expects is told sound, and what it says of a fault is that fault") {
  const json expected = sheet();
  const json sound = answer_to(readings_of(expected, "none"));
  CHECK(sound.at("faults").at(0).at("name") == "none");
  CHECK(sound.at("faults").at(0).at("probability") > 0.5);
  CHECK(has(sound.at("safety").get<std::string>(), "kill"));
  for (const json& r : sound.at("readings")) CHECK(r.at("out") == false);
  for (const std::string fault : {"section_1_dead", "section_2_dead"}) {
    const json told = answer_to(readings_of(expected, fault));
    CAPTURE(fault);
    CHECK(told.at("faults").at(0).at("name") == fault);
    CHECK(told.at("change").at("advice") == "fault_first");
    bool none = false;  // no verdict without its alternative
    for (const json& f : told.at("faults")) none |= f.at("name") == "none";
    CHECK(none);
  }
}

TEST_CASE("the answer is the same for any number of threads") {
  const std::string text = readings_of(sheet(), "none");
  CHECK(answer_to(text, " --threads 1") == answer_to(text, " --threads 3"));
}

TEST_CASE("the terminal begins with the caution, keeps to 80 columns and says what it rests on") {
  Folder folder;
  write_text(folder / "meter.csv", readings_of(sheet(), "tail_open"));
  const Answer answer = run("readings " + kDesign + " " + (folder / "meter.csv").string());
  CHECK(answer.code == 0);
  CHECK(answer.out.find("High voltage can kill") < answer.out.find("What it may be"));
  CHECK(has(answer.out, "What to measure next"));
  CHECK(has(answer.out, "common practice, no published source"));
  CHECK(has(answer.out, "Pareto k"));
  for (std::size_t i = 0, width = 0; i < answer.out.size(); ++i) {
    width = answer.out[i] == '\n' ? 0 : width + ((answer.out[i] & 0xc0) != 0x80);
    REQUIRE(width <= 80);
  }
}

TEST_CASE("what cannot be is asked about with file and line, and ends with 2") {
  Folder folder;
  write_text(folder / "meter.csv", "supply,318\nplate 1,352 V\n");
  const Answer answer = run("readings " + kDesign + " " + (folder / "meter.csv").string());
  CHECK(answer.code == 2);
  CHECK(answer.out.empty());
  CHECK(has(answer.err, "meter.csv:2:"));
  CHECK(run("readings " + kDesign).code == 2);  // no terminal to ask at
  CHECK(run("readings " + kDesign + " no_such_file.csv").code == 3);
  CHECK(run("readings " + kDesign + " " + (folder / "meter.csv").string() + " --meter 5").code == 2);
}

TEST_CASE("readings are asked for one after another, and a wrong one once more") {
  Folder folder;
  const std::string typed = (folder / "typed").string();
  write_text(typed, "318\n2060\n213\n211\n39.6\n\n\n1.9\nend\n");
  const Answer answer = run(
      "-c \"cat " + typed + " | " ANTIPHASE_PROGRAM " readings " + kDesign + " --ask --json\"", "", "", "sh");
  REQUIRE(answer.code == 0);
  CHECK(answer.err.find("High voltage can kill") < answer.err.find("supply of the stage:"));
  CHECK(has(answer.err, "decimal point"));
  const json told = json::parse(answer.out).at("readings");
  REQUIRE(told.size() == 5);  // leak node and grid were passed over
  CHECK(told.at(1).at("read_v") == 213);
  CHECK(told.at(4).at("name") == "bias_v");
}

TEST_CASE("two faults at once are weighed when they are asked for, and stand beside single ones") {
  const json sound = answer_to(readings_of(sheet(), "none"), " --pairs");
  CHECK(sound.at("faults").at(0).at("name") == "none");
  // A dead section leaves its plate at the supply; a leak behind the other plate shows at that output alone.
  const json told =
      answer_to(readings_of(sheet(), "section_2_dead") + "output 1,4.1 V\noutput 2,0 V\n", " --pairs");
  CHECK(told.at("faults").at(0).at("name") == "section_2_dead+output_capacitor_1_leaks");
}

TEST_CASE("readings that nothing on the list explains are not given a fault") {
  // Those of a self-biased stage, held against one whose grids are held at 90 V: its cathode cannot be at 42
  // V.
  const Answer answer =
      run("readings " ANTIPHASE_SOURCE "/configs/designs/medium_mu_direct_coupled.json " ANTIPHASE_SOURCE
          "/configs/readings/odd_plates.csv");
  REQUIRE(answer.code == 0);
  CHECK(has(answer.out, "Nothing that was weighed explains these readings"));
  CHECK(has(answer.out, "is it this design"));
  CHECK_FALSE(has(answer.out, "Most probable"));
  CHECK_FALSE(has(answer.out, "over 99 %"));
  // No reading lets expect another: they stand beside what is drawn, whose grids are held 90 V above ground.
  CHECK(has(answer.out, "What was read, beside the design as drawn"));
  CHECK_FALSE(has(answer.out, "OUT"));
  CHECK(has(answer.out, "Read all of them once more"));
  const Answer data =
      run("readings " ANTIPHASE_SOURCE "/configs/designs/medium_mu_direct_coupled.json " ANTIPHASE_SOURCE
          "/configs/readings/odd_plates.csv --json");
  CHECK(json::parse(data.out).at("explained") == false);
  CHECK(json::parse(data.out).at("quantities").empty());
  CHECK(json::parse(data.out).at("next").empty());
  for (const json& r : json::parse(data.out).at("readings")) {
    CHECK(r.at("expected_v").is_null());
    CHECK(r.at("out") == false);
    if (r.at("name") == "cathode_v") CHECK(r.at("drawn_v") > 90);
  }
  CHECK(answer_to(readings_of(sheet(), "none")).at("explained") == true);
}
