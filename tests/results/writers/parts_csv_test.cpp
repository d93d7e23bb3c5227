// The parts list as a table, against rows that were worked out by hand.
#include "results/writers/parts_csv.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "results/describe/safety.h"
#include "stagemodels/members.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

namespace {

/// The row whose first field (or second, where rows are ranked) is `part`, without its line end.
std::string row(const std::string& csv, const std::string& begins) {
  for (std::size_t from = 0; from < csv.size();) {
    const std::size_t end = csv.find("\r\n", from);
    if (csv.compare(from, begins.size(), begins) == 0) return csv.substr(from, end - from);
    from = end + 2;
  }
  return "";
}

/// What stands in a row under the heading.
std::string cell(const std::string& csv, const std::string& begins, const std::string& heading) {
  const auto fields = [](const std::string& line) {
    std::vector<std::string> all{""};
    bool quoted = false;
    for (const char c : line) {
      if (c == '"')
        quoted = !quoted;
      else if (c == ',' && !quoted)
        all.emplace_back();
      else
        all.back() += c;
    }
    return all;
  };
  const auto headings = fields(csv.substr(0, csv.find("\r\n"))), values = fields(row(csv, begins));
  REQUIRE(headings.size() == values.size());
  const auto at = std::find(headings.begin(), headings.end(), heading);
  REQUIRE_MESSAGE(at != headings.end(), heading);
  return values[static_cast<std::size_t>(at - headings.begin())];
}

/// A pair at rest with round numbers: 320 V, plates at 220 V and 210 V, cathode 95 V of which 5 V across the
/// bias resistor. Not solved: put together by hand. The target is out of reach, so rest is the worst.
Record by_hand() {
  static const Tube tube = [] {
    Tube t = sample::tube_without_current();  // so that faults of parts ask for nothing
    t.heater.volt_v = 12.6;
    t.heater.current_a = 0.15;
    return t;
  }();
  Record r;
  r.rank = 3;
  r.design = sample::self_biased_pair(tube);
  r.design.plate_ohm = {100e3, 110e3};
  r.design.bias.ohm = 2500;
  r.design.tail.ohm = 45e3;
  r.design.output_valve_bias_v = -38;
  OperatingPoint& o = r.evaluation.operating_point;
  o.solved = Solved::yes;
  o.supply_v = 320;
  o.plate_v = {220, 210};
  o.cathode_v = 95;
  o.tail_v = 90;
  return r;
}

}  // namespace

TEST_CASE("rows of the parts list are what the pencil gives") {
  const std::string csv = parts_csv(by_hand(), DesignFactors{}, Tolerances{});
  CHECK(row(csv, "designator,") ==
        "designator,part,kind,pieces,value,value_si,unit,series,tolerance_pct,power_rest_w,power_worst_w,"
        "rated_w,"
        "voltage_worst_v,rated_v,derating,heater_v,heater_a,note,type,in_circuit,proposed_si,pins,voltage_"
        "rest_v,"
        "power_full_drive_w,voltage_full_drive_v,voltage_cold_v,power_switch_on_w,voltage_switch_on_v,"
        "energy_switch_on_j,power_fault_w,voltage_fault_v,fault,rated_w_for,rated_v_for,rules,safety");
  CHECK(row(csv, "V1,").starts_with("V1,tube,tube,1,12AX7,,,,,,,,,,,12.6,0.15,"));
  // 100 V across 100 k: 0.1 W, half of 0.25 W is enough; 100 V is within 80 % of 200 V
  CHECK(row(csv, "R1,")
            .starts_with("R1,plate resistor 1,resistor,1,100 k\u03a9,1e+05,ohm,E3,1,0.1,0.1,0.25,100,200,"
                         "at most 50 % of its power and 80 % of its voltage,,,"));
  // 110 V across 110 k: 0.11 W
  CHECK(row(csv, "R2,")
            .starts_with("R2,plate resistor 2,resistor,1,110 k\u03a9,110000,ohm,E24,1,0.11,0.11,0.25,110,200,"
                         "at most 50 % of its power and 80 % of its voltage,,,"));
  // 5 V across 2.5 k: 10 mW; 2.5 k is in no series
  CHECK(row(csv, "R3,")
            .starts_with("R3,bias resistor,resistor,1,2.5 k\u03a9,2500,ohm,,1,0.01,0.01,0.125,5,200,"
                         "at most 50 % of its power and 80 % of its voltage,,,"));
  // 90 V across 45 k: 0.18 W, more than half of 0.25 W
  CHECK(row(csv, "R4,")
            .starts_with("R4,tail resistor,resistor,1,45 k\u03a9,45000,ohm,,1,0.18,0.18,0.5,90,200,"
                         "at most 50 % of its power and 80 % of its voltage,,,"));
  // cold: 320 V on one side, -38 V on the other: 358 V, more than 80 % of 400 V
  CHECK(
      row(csv, "\"C3, C4\",")
          .starts_with(
              "\"C3, C4\",coupling capacitor,capacitor,2,100 nF,1e-07,F,E3,10,,,,358,630,at most 80 % of its "
              "voltage,,,"));
}

TEST_CASE("tolerances and derating of the brief stand in the parts list") {
  Tolerances t;
  t.resistor_pct = 5;
  t.single.push_back({&member::plate_ohm_0, 0.5});
  const std::string csv = parts_csv(by_hand(), {.resistor_power = 0.25, .resistor_voltage = 0.4}, t);
  CHECK(row(csv, "R1,")
            .starts_with("R1,plate resistor 1,resistor,1,100 k\u03a9,1e+05,ohm,E3,0.5,0.1,0.1,0.5,100,250,"
                         "at most 25 % of its power and 40 % of its voltage,,,"));
  CHECK(row(csv, "R4,").find(",5,0.18,") != std::string::npos);
}

TEST_CASE("behind a main supply capacitors and dropper stand all of it") {
  Record r = by_hand();
  r.design.main_supply_v = 420;
  r.design.dropping_ohm = 47e3;
  r.design.reservoir_f = 22e-6;
  const std::string csv = parts_csv(r, DesignFactors{}, Tolerances{});
  // 420 V: more than 80 % of 500 V, the largest of the usual electrolytic ratings
  CHECK(row(csv, "C1,reservoir capacitor,").find(",420,,at most 80 % of its voltage") != std::string::npos);
  // 420 - 320 = 100 V at rest, 420 V until the reservoir is charged: within 80 % of 750 V
  CHECK(row(csv, "R1,dropping resistor,").find(",420,750,") != std::string::npos);
}

TEST_CASE("the parts of every candidate stand in one table with their rank") {
  Report report = sample::report();
  const std::string csv = parts_csv(report);
  CHECK(csv.compare(0, 21, "rank,designator,part,") == 0);
  for (const Record& r : report.candidates) CHECK(row(csv, std::to_string(r.rank) + ",V1,tube") != "");
}

TEST_CASE("every cause has its columns, and every row the caution") {
  Record r = by_hand();
  r.design.main_supply_v = 430;
  r.design.dropping_ohm = 1.5e3;
  r.design.reservoir_f = 150e-6;
  r.evaluation.operating_point.supply_v = 424;  // 4 mA: 24 mW at rest, so that 123 W at switch-on decide
  const std::string csv = parts_csv(r, DesignFactors{}, Tolerances{});
  CHECK(std::abs(std::stod(cell(csv, "R1,", "power_switch_on_w")) - 430.0 * 430 / 1500) < 1e-6);
  CHECK(std::abs(std::stod(cell(csv, "R1,", "energy_switch_on_j")) - 150e-6 * 430 * 430 / 2) < 1e-6);
  CHECK(cell(csv, "R1,", "rated_w_for") == "switch-on");
  CHECK(cell(csv, "R1,", "type") == "wirewound");
  CHECK(cell(csv, "R1,", "rules").find("CV\u00b2/2") != std::string::npos);
  CHECK(cell(csv, "\"C4, C5\",", "voltage_cold_v") == "468");  // 430 V and 38 V of bias
  CHECK(cell(csv, "\"C4, C5\",", "in_circuit") == "yes");
  CHECK(cell(csv, "\"RL1, RL2\",", "in_circuit") == "no");
  CHECK(cell(csv, "\"RS1, RS2\",", "kind") == "resistor");
  CHECK(cell(csv, "H1,", "heater_a") == "0.15");
  std::size_t rows = 0;
  for (std::size_t at = csv.find("\r\n"); at + 2 < csv.size(); at = csv.find("\r\n", at + 2)) {
    const std::string line = csv.substr(at + 2, csv.find("\r\n", at + 2) - at - 2);
    CHECK(line.ends_with(std::string(kSafetyLine)));
    ++rows;
  }
  CHECK(rows > 10);
}
