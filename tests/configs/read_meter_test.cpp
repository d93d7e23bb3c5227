// Files of readings: how people write them, and what is told of what cannot be.
#include "configs/read_meter.h"

#include <doctest/doctest.h>

#include "configs/read_design.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design design_named(const std::string& name) {
  const auto read = read_design(ANTIPHASE_SOURCE "/configs/designs/" + name, shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Design>(read);
}

const Design& pair() {
  static const Design d = design_named("high_mu_self_biased.json");
  return d;
}

MeterFile good(std::string_view text, const Design& d = pair()) {
  const auto read = parse_meter(text, "meter.csv", d);
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<MeterFile>(read);
}

std::string bad(std::string_view text, const Design& d = pair()) {
  const auto read = parse_meter(text, "meter.csv", d);
  const auto* errors = std::get_if<InputErrors>(&read);
  REQUIRE(errors);
  return in_words(*errors);
}

std::string_view name_of(const MeterReading& r, const Design& d = pair()) {
  static std::vector<BenchReading> list;
  list = bench_readings(d);
  return list[r.place].name;
}

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("readings stand as people write them") {
  const MeterFile f =
      good("# my box, 3 May\nplate 1,206 V\nplate 2,190,V,2%\ncathode,39.6\nSupply , 0.319k\n");
  REQUIRE(f.readings.size() == 4);
  CHECK(name_of(f.readings[0]) == "plate_1_v");
  CHECK(f.readings[0].volts == 206);
  CHECK(within(f.readings[0].step_v, 1, 1e-12));
  CHECK(f.readings[0].line == 2);
  CHECK_FALSE(f.readings[0].accuracy_pct);
  CHECK(f.readings[1].accuracy_pct == 2);
  CHECK(within(f.readings[2].step_v, 0.1, 1e-12));
  CHECK(name_of(f.readings[3]) == "supply_v");
  CHECK(f.readings[3].volts == 319);
  CHECK(within(f.readings[3].step_v, 1, 1e-9));
}

TEST_CASE("every name of the sheet and of its JSON is read in any case") {
  for (const char* file : {"high_mu_self_biased.json", "chain_decoupled.json", "negative_rail_sink.json",
                           "split_load_self_biased.json", "behind_a_dropping_resistor.json",
                           "first_stage_partly_bypassed.json"}) {
    const Design d = design_named(file);
    for (const BenchReading& r : bench_readings(d)) {
      std::string label(r.label), name(r.name);
      for (char& c : label) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
      const std::string value = r.name == "rail_v" ? ",-1 V" : ",1 V";
      for (const std::string& text :
           {std::string(r.label), label, name, std::string(r.also_label), std::string(r.also_name)}) {
        if (text.empty()) continue;
        CAPTURE(text);
        const MeterFile f = good("\"" + text + "\"" + value, d);
        REQUIRE(f.readings.size() == 1);
        CHECK(name_of(f.readings[0], d) == r.name);
      }
    }
  }
}

TEST_CASE("words of the trade and of German are read") {
  for (const auto& [text, name] : {std::pair{"Anode 1", "plate_1_v"},
                                   {"ANODE2", "plate_2_v"},
                                   {"Kathode", "cathode_v"},
                                   {"Gitter 2", "grid_2_v"},
                                   {"B+", "supply_v"},
                                   {"HT", "supply_v"},
                                   {"Betriebsspannung", "supply_v"},
                                   {"across bias", "bias_v"},
                                   {"output 2", "output_2_dc_v"},
                                   {"Ausgang 1", "output_1_dc_v"}}) {
    CAPTURE(text);
    CHECK(name_of(good(std::string(text) + ",1").readings.front()) == name);
  }
}

TEST_CASE("a decimal comma is read between semicolons and in quotes, and told between commas") {
  CHECK(good("cathode;39,6 V").readings[0].volts == 39.6);
  CHECK(good("cathode,\"39,6 V\"").readings[0].volts == 39.6);
  CHECK(good("cathode\t39,6\t0,5%").readings[0].accuracy_pct == 0.5);
  const std::string told = bad("plate 1,206\ncathode,39,6\n");
  CHECK(has(told, "meter.csv:2:"));
  CHECK(has(told, "decimal comma"));
  CHECK(has(told, "39.6"));
}

TEST_CASE("the meter says what it is") {
  const MeterFile f = good("meter,1M\naccuracy,0.5%\nplate 1,206\n");
  CHECK(f.meter_ohm == 1e6);
  CHECK(f.accuracy_pct == 0.5);
  const Taken t = taken_of(f);
  CHECK(t.count() == 1);
  // half a per cent as two deviations, a step of 1 V evenly rounded (1 / sqrt 12), and 10 mV
  CHECK(within_ratio(t.deviation_v[f.readings[0].place], std::sqrt(0.515 * 0.515 + 1.0 / 12 + 1e-4), 1e-9));
  CHECK(has(bad("meter,5\nplate 1,206"), "meter.csv:1:"));
  CHECK(has(bad("accuracy,200%\nplate 1,206"), "accuracy"));
}

TEST_CASE("what cannot be is asked about with its line and not fitted") {
  CHECK(has(bad("plate 1,206\nplate 2,2060"), "decimal point"));
  CHECK(has(bad("plate 1,206\nplate 2,2060"), "meter.csv:2:"));
  CHECK(has(bad("plate 1,-206"), "leads swapped"));
  CHECK(has(bad("plate 1,1.2 mA"), "is a current"));
  const std::string above = bad("supply,318\nplate 1,206\nplate 2,352");
  CHECK(has(above, "meter.csv:3:"));
  CHECK(has(above, "above the supply of the stage at 318 V of line 1"));
  CHECK(has(bad("rail,60 V", design_named("negative_rail_sink.json")), "leads swapped"));
  CHECK(good("plate 1 above plate 2,-12").readings[0].volts == -12);  // either plate may be the higher
}

TEST_CASE("wrong lines are told, each with its number") {
  const std::string told =
      bad("plait 1,206\nplate 1\nplate 1,high\ncathode,39\nKathode,40\nplate 2,206,V,0%");
  CHECK(has(told, "meter.csv:1:"));
  CHECK(has(told, "did you mean \"plate 1\""));
  CHECK(has(told, "meter.csv:2:"));
  CHECK(has(told, "meter.csv:3:"));
  CHECK(has(told, "meter.csv:5:"));
  CHECK(has(told, "line 4"));
  CHECK(has(told, "meter.csv:6:"));
  CHECK(has(bad(""), "no readings"));
  CHECK(has(bad("# nothing\n"), "no readings"));
  CHECK(has(bad("first stage: plate,100"), "is no reading of this design"));
}

TEST_CASE("a value typed at a terminal is read like one of a file") {
  const std::vector<BenchReading> readings = bench_readings(pair());
  const auto right = parse_meter_value(" 39,6 V", 3, readings, pair());
  REQUIRE(std::holds_alternative<MeterReading>(right));
  CHECK(std::get<MeterReading>(right).volts == 39.6);
  CHECK(std::holds_alternative<std::string>(parse_meter_value("3960", 3, readings, pair())));
  CHECK(std::holds_alternative<std::string>(parse_meter_value("abc", 3, readings, pair())));
}
