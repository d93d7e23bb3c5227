// The gain stage against published resistance-coupled tables: every row, the first law of each card.
//
// Held: plate current within 12 %, gain within 10 % (20 % where a sheet contradicts itself), distortion
// within a factor 1.6 or one point. A row outside is named in `Reason` with why; any other fails. All rows
// are printed, with what the card's other credible laws give.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kNotGiven = -1;
constexpr double kOpen_ohm = 1e8;  // "open output"

struct TableRow {
  double supply_v, plate_ohm, next_ohm, cathode_ohm, current_ma, gain, output_rms_v, distortion_pct;
};

/// Why rows of a table cannot be met, and how far off they may be then. Applies to rows of that quantity with
/// a supply and plate resistor in range; the first that does counts.
struct Reason {
  char quantity;  // 'I' current, 'A' gain, 'd' distortion
  double supply_to_v, plate_from_ohm, plate_to_ohm;
  double least, most;  // law over sheet
  const char* why;
};

struct Table {
  const char* tube;
  const char* sheet;
  std::vector<TableRow> rows;
  std::vector<Reason> reasons;
  double gain_tolerance = 0.10;
  double least_inside = 0.6;  // of the rows: exceptions must stay exceptions
};

struct Stage {
  double current_ma, gain, distortion_pct;
};

Stage solve(const Tube& tube, const TableRow& row) {
  Design d;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {&tube, &tube};
  d.supply_v = row.supply_v;
  d.plate_ohm[0] = row.plate_ohm;
  d.load_ohm = row.next_ohm;
  d.cathode_ohm = row.cathode_ohm;
  d.swing_peak_v = std::max(1.0, row.output_rms_v) * std::sqrt(2.0);
  Evaluation e;
  evaluate(d, Depth::at_target, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  if (row.distortion_pct > 0) REQUIRE(e.at_target.solved == Solved::yes);
  return {1e3 * e.operating_point.plate_current_a[0], std::abs(e.small_signal.gain[0]),
          e.at_target.thd_pct[0]};
}

struct Count {
  int inside = 0, asked = 0;
};

void hold(const Table& table) {
  const Tube* found = shipped().find(table.tube);
  REQUIRE(found);
  const Tube& tube = *found;
  std::vector<Tube> others;  // with each other credible law
  for (std::size_t m = 1; m < tube.models.size(); ++m)
    if (tube.models[m].credible) {
      others.push_back(tube);
      others.back().models = {tube.models[m]};
    }
  std::printf("\n%s, %s (in brackets: the card's other credible laws)\n", table.tube, table.sheet);
  Count current, gain, distortion;
  for (const TableRow& row : table.rows) {
    const Stage is = solve(tube, row);
    std::vector<Stage> alternatives;
    for (const Tube& other : others) alternatives.push_back(solve(other, row));
    std::printf("  %3.0f V %3.0fk", row.supply_v, row.plate_ohm / 1e3);
    std::string where =
        std::to_string(int(row.supply_v)) + " V, " + std::to_string(int(row.plate_ohm / 1e3)) + " k";
    const auto check = [&](char quantity, const char* name, double sheet, double Stage::*member, Count& count,
                           auto kept) {
      if (!(sheet > 0)) return;
      std::printf("  %s %.4g, law %.3g (", name, sheet, is.*member);
      for (const Stage& a : alternatives) std::printf(" %.3g", a.*member);
      std::printf(" )");
      ++count.asked;
      if (kept(is.*member)) {
        ++count.inside;
        return;
      }
      const auto reason = std::find_if(table.reasons.begin(), table.reasons.end(), [&](const Reason& r) {
        return r.quantity == quantity && row.supply_v <= r.supply_to_v && row.plate_ohm >= r.plate_from_ohm &&
               row.plate_ohm <= r.plate_to_ohm;
      });
      std::printf(" OUTSIDE: %s;", reason == table.reasons.end() ? "no reason known" : reason->why);
      CAPTURE(where);
      CAPTURE(std::string(name));
      CAPTURE(is.*member);
      CAPTURE(sheet);
      REQUIRE(reason != table.reasons.end());
      CHECK(is.*member >= reason->least * sheet);
      CHECK(is.*member <= reason->most * sheet);
    };
    check('I', "mA", row.current_ma, &Stage::current_ma, current,
          [&](double v) { return std::abs(v / row.current_ma - 1) <= 0.12; });
    check('A', "gain", row.gain, &Stage::gain, gain,
          [&](double v) { return std::abs(v / row.gain - 1) <= table.gain_tolerance; });
    check('d', "THD %", row.distortion_pct, &Stage::distortion_pct, distortion, [&](double v) {
      return (v * 1.6 >= row.distortion_pct && v <= 1.6 * row.distortion_pct) ||
             std::abs(v - row.distortion_pct) <= 1;
    });
    std::printf("\n");
  }
  std::printf("  inside: current %d of %d, gain %d of %d, distortion %d of %d\n", current.inside,
              current.asked, gain.inside, gain.asked, distortion.inside, distortion.asked);
  for (const Count& c : {current, gain, distortion}) CHECK(c.inside >= table.least_inside * c.asked);
}

std::vector<TableRow> blocks(std::initializer_list<double> supplies, double plate, double next,
                             std::initializer_list<double> cathodes, std::initializer_list<double> currents,
                             std::initializer_list<double> gains, std::initializer_list<double> outputs,
                             std::initializer_list<double> distortions) {
  std::vector<TableRow> rows;
  const auto at = [](const std::initializer_list<double>& list, std::size_t k) {
    return list.begin()[list.size() == 1 ? 0 : k];
  };
  for (std::size_t k = 0; k < supplies.size(); ++k)
    rows.push_back({at(supplies, k), plate, next, at(cathodes, k), at(currents, k), at(gains, k),
                    at(outputs, k), at(distortions, k)});
  return rows;
}

std::vector<TableRow> joined(std::initializer_list<std::vector<TableRow>> parts) {
  std::vector<TableRow> rows;
  for (const auto& part : parts) rows.insert(rows.end(), part.begin(), part.end());
  return rows;
}

}  // namespace

TEST_CASE("Philips ECC83 table, January 1970: fifteen rows") {
  hold({"12AX7",
        "Philips ECC83, Jan 1970",
        joined({blocks({200, 250, 300, 350, 400}, 47e3, 150e3, {1500, 1200, 1000, 820, 680},
                       {0.86, 1.18, 1.55, 1.98, 2.45}, {34, 37.5, 40, 42.5, 44}, {18, 23, 26, 33, 37},
                       {8.5, 7.0, 5.0, 4.4, 3.6}),
                blocks({200, 250, 300, 350, 400}, 100e3, 330e3, {1800, 1500, 1200, 1000, 820},
                       {0.65, 0.86, 1.11, 1.40, 1.72}, {50, 54.5, 57, 61, 63}, {20, 26, 30, 36, 38},
                       {4.8, 3.9, 2.7, 2.2, 1.7}),
                blocks({200, 250, 300, 350, 400}, 220e3, 680e3, {3300, 2700, 2200, 1500, 1200},
                       {0.36, 0.48, 0.63, 0.85, 1.02}, {56, 66.5, 72, 75.5, 76.5}, {24, 28, 36, 37, 38},
                       {4.6, 3.4, 2.6, 1.6, 1.1})}),
        {}});
}

TEST_CASE("Philips ECC82 table, 1959: twenty-one rows") {
  const auto volts = {100., 150., 200., 250., 300., 350., 400.};
  hold({"12AU7",
        "Philips ECC82, 1959",
        joined({blocks(volts, 47e3, 150e3, {1200}, {1.20, 1.82, 2.41, 3.02, 3.65, 4.30, 5.00}, {13.5},
                       {11, 18, 26, 34, 43, 51, 59}, {5.6, 6.1, 6.3, 6.4, 6.5, 6.6, 6.7}),
                blocks(volts, 100e3, 330e3, {2200}, {0.66, 0.98, 1.30, 1.63, 1.97, 2.30, 2.62}, {14},
                       {10, 17, 25, 32, 41, 49, 57}, {4.8, 5.6, 5.8, 5.9, 6.0, 6.1, 6.2}),
                blocks(volts, 220e3, 680e3, {3900}, {0.33, 0.50, 0.66, 0.82, 0.98, 1.16, 1.31}, {14.5},
                       {8, 15, 22, 28, 36, 43, 50}, {4.0, 4.4, 4.7, 4.8, 4.9, 5.0, 5.1})}),
        {{'d', 150, 47e3, 220e3, 0.25, 4,
          "0.3 to 1.9 mA, far under the typical 11.8: the readings do not tell the foot"},
         {'d', 200, 47e3, 220e3, 0.5, 1.6,
          "0.3 to 1.9 mA, far under the typical 11.8: curves read to 0.05 mA do not tell the foot"}}});
}

TEST_CASE("6922 table, 2012: fifteen rows") {
  // Its tidy spacing suggests that it was calculated: a model rather than a measurement.
  const auto volts = {200., 250., 300., 350., 400.};
  hold({"6922",
        "RT-6922, 2012",
        joined(
            {blocks(volts, 47e3, kOpen_ohm, {1500, 1200, 1000, 820, 680}, {2.0, 2.8, 3.6, 4.5, 5.6},
                    {25, 26, 26.5, 27, 27.3}, {10.0, 10.4, 10.6, 10.8, 10.9}, {0.96, 0.73, 0.60, 0.51, 0.44}),
             blocks(volts, 100e3, kOpen_ohm, {1800, 1500, 1200, 1000, 820}, {1.3, 1.7, 2.2, 2.6, 3.0},
                    {26, 26.5, 27.3, 27.8, 28}, {10.4, 10.6, 10.9, 11.1, 11.2},
                    {0.76, 0.62, 0.56, 0.51, 0.49}),
             blocks(volts, 220e3, kOpen_ohm, {2700, 2200, 1500, 1200, 1000}, {0.7, 0.9, 1.1, 1.3, 1.6},
                    {25.8, 26.5, 27.3, 27.8, 28.3}, {10.3, 10.6, 10.9, 11.1, 11.3},
                    {0.74, 0.65, 0.63, 0.62, 0.61})}),
        {}});
}

TEST_CASE("General Electric 12AX7 table, June 1953: gain of eighteen rows") {
  // Gain at 2 V rms. The 5 % outputs of that table include clipping through a source resistance that the
  // sheet does not give; they are left out.
  const auto volts = {90., 180., 300.};
  const auto block = [&](double plate, double next, std::initializer_list<double> cathodes,
                         std::initializer_list<double> gains) {
    return blocks(volts, plate, next, cathodes, {kNotGiven}, gains, {2}, {kNotGiven});
  };
  hold({"12AX7",
        "General Electric ET-T509B, Jun 1953",
        joined({block(100e3, 100e3, {1700, 1000, 760}, {31, 40, 43}),
                block(100e3, 240e3, {2000, 1100, 900}, {38, 46, 50}),
                block(240e3, 240e3, {3500, 2000, 1600}, {43, 54, 58}),
                block(240e3, 510e3, {3900, 2300, 1800}, {49, 59, 64}),
                block(510e3, 510e3, {7100, 4300, 3100}, {50, 62, 66}),
                block(510e3, 1e6, {7800, 4800, 3600}, {53, 64, 69})}),
        {{'A', 90, 510e3, 510e3, 0.85, 1.2, "under 0.1 mA: curves read to 0.01 mA do not tell the foot"},
         {'A', 180, 510e3, 510e3, 0.85, 1.15,
          "0.05 to 0.2 mA: curves read to 0.01 mA do not tell the foot"}}});
}

TEST_CASE("Brimar 12AX7 report: gain of twelve rows and of its worked example") {
  const auto row = [](double supply, double plate, double next, double cathode, double gain) {
    return TableRow{supply, plate, next, cathode, kNotGiven, gain, 2, kNotGiven};
  };
  // The rows with 470 k print 57 and 61; the worked example of the same report says 66 for the first of them.
  hold({"12AX7",
        "Brimar report",
        {row(100, 100e3, 220e3, 4700, 35), row(100, 100e3, 470e3, 4800, 41), row(100, 220e3, 220e3, 7000, 39),
         row(100, 220e3, 470e3, 7400, 45), row(100, 470e3, 470e3, 12e3, 48), row(100, 470e3, 1e6, 13e3, 52),
         row(250, 100e3, 220e3, 1500, 43), row(250, 100e3, 470e3, 1700, 47), row(250, 220e3, 220e3, 2200, 49),
         row(250, 220e3, 470e3, 2800, 54)},
        {{'A', 100, 470e3, 470e3, 0.85, 1.15, "under 0.15 mA: curves read to 0.01 mA do not tell the foot"},
         {'A', 250, 100e3, 220e3, 0.85, 1.15,
          "the General Electric table has 46 to 50 for 100 k with 240 k, 59 to 64 for 240 k with 510 k"}},
        0.10,
        0.4});
  hold({"12AX7",
        "Brimar report, rows with 470 k that its worked example contradicts: 20 %",
        {row(250, 470e3, 470e3, 4300, 57), row(250, 470e3, 1e6, 5200, 61)},
        {},
        0.20});
  hold({"12AX7", "Brimar report, worked example", {{250, 470e3, 470e3, 4300, 0.3, 66, 2, kNotGiven}}, {}});
}

TEST_CASE("Tung-Sol 6SN7GT sheet, 1945: gain of three resistance-coupled stages") {
  // The printed gains (13, 14, 14) contradict the plate curves of the same sheet, from which 15.0, 16.0
  // and 16.6 come out. The curves are what the card was fitted to; 5 % is what their reading leaves, 20 % of
  // the printed.
  hold({"6SN7GT",
        "Tung-Sol, 1945, gain from its curves",
        blocks({90, 180, 300}, 100e3, 250e3, {3940, 2830, 2440}, {kNotGiven}, {15.0, 16.0, 16.6}, {5},
               {kNotGiven}),
        {},
        0.05});
  hold({"6SN7GT",
        "Tung-Sol, 1945, gain as printed: 20 %",
        blocks({90, 180, 300}, 100e3, 250e3, {3940, 2830, 2440}, {kNotGiven}, {13, 14, 14}, {5}, {kNotGiven}),
        {{'A', 300, 100e3, 100e3, 0.8, 1.21, "the sheet's own curves give 15.0, 16.0 and 16.6"}},
        0.20});
}
