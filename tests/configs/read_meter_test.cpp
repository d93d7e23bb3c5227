// Files of readings: how people write them, and what is told of what cannot be.
#include "configs/read_meter.h"

#include <doctest/doctest.h>

#include <cmath>

#include "configs/read_design.h"
#include "objectives/diagnosis/test_points.h"
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
  const Taken t = taken_of(f, pair());
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

TEST_CASE("signals at the outputs are read with their input, frequency and load") {
  const MeterFile f = good(
      "plate 1,206 V\noutput 1 signal,31.0 Vrms,input 1.2 Vrms,at 1 kHz\n"
      "output 2,30.1 V rms at 400 Hz, input 1.2 Vrms,2%\nOutput 1 Signal,28 Vrms,load 100k,INPUT 1.2 V\n");
  REQUIRE(f.readings.size() == 4);
  REQUIRE(f.more.size() == 3);
  const std::size_t direct = bench_readings(pair()).size();
  CHECK(f.readings[1].place == direct);
  CHECK(f.readings[1].volts == 31);
  CHECK(within(f.readings[1].step_v, 0.1, 1e-12));
  CHECK(f.more[0].name == "output_1_signal_v_rms");
  CHECK(f.more[0].hz == 1000);
  CHECK(f.more[0].input_v == 1.2);
  CHECK(f.more[0].load_ohm == 0);
  CHECK(f.more[1].name == "output_2_signal_v_rms");
  CHECK(f.more[1].hz == 400);
  CHECK(f.readings[2].accuracy_pct == 2);
  CHECK(f.more[2].load_ohm == 100e3);
  CHECK(f.more[2].hz == 1000);
  const Taken t = taken_of(f, pair());
  CHECK(t.has(direct + 2));
  // 1 % as two deviations of either end, the last digit's twelfth, and 2 % for what is not small.
  CHECK(within_ratio(
      t.deviation_v[direct],
      std::sqrt(std::pow(31 * 0.005 * std::sqrt(2.0), 2) + 0.01 / 12 + 1e-4 + std::pow(31 * 0.02, 2)), 1e-6));
}

TEST_CASE("mains and heaters tell how high the supplies stand") {
  const MeterFile f = good("mains,236 V\nheater;6,1 V\nplate 1,206\n");
  REQUIRE(f.more.size() == 2);
  CHECK(f.more[0].nominal_v == 230);
  CHECK(f.more[1].nominal_v == 6.3);
  CHECK(f.readings[1].volts == 6.1);
  CHECK(good("Mains,117 V\n").more[0].nominal_v == 120);
  CHECK(good("heater,12.2 V,of 12.6 V\n").more[0].nominal_v == 12.6);
}

TEST_CASE("signals that say too little, or what cannot be, are told with their line") {
  CHECK(has(bad("output 1 signal,31 Vrms\n"),
            "meter.csv:1:1: does not say what stands at the input meanwhile"));
  CHECK(has(bad("output 3 signal,31 Vrms,input 1 V\n"),
            "is no output of this design; a signal is read at output 1 or"));
  CHECK(has(bad("plate 1 signal,31 Vrms,input 1 V\n"), "is no output of this design"));
  CHECK(has(bad("output 1 signal,input 1 V\n"), "a signal is V rms at the output"));
  CHECK(has(bad("output 1 signal,31 Vpp,input 1 V\n"), "\"31 Vpp\" is none of: V rms at the output"));
  CHECK(has(bad("output 1 signal,31 Vrms,input 0 V\n"), "input is V rms, above 0"));
  CHECK(has(bad("output 1 signal,31 Vrms,input 1 V,at noon\n"), "a frequency is from 1 Hz to 1 MHz"));
  CHECK(has(bad("output 1 signal,31 Vrms,input 1 V,load 5\n"), "load is a resistance from 100"));
  CHECK(has(bad("output 1 signal,31 Vrms,input 1 V\noutput 1,30 Vrms,input 1 V\n"),
            "stands in line 1 already"));
  CHECK(has(bad("mains,23.6 V\n"), "mains: 23.6 V is far from the 120 V that it should be"));
  CHECK(has(bad("heater,high\n"), "is no voltage; write it as \"heater,6.2 V\""));
}

TEST_CASE("a test point's number is as good as its name") {
  for (const TestPoint& point : test_points(pair())) {
    if (point.label.empty()) continue;
    const MeterFile f = good("tp" + std::to_string(point.number) + ",1 V\n");
    CHECK(bench_readings(pair())[f.readings[0].place].label == point.label);
  }
  CHECK(has(bad("TP99,1 V\n"), "\"TP99\" is no reading of this design"));
}
