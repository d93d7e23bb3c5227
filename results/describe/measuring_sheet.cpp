#include "results/describe/measuring_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/builds/readings.h"
#include "objectives/diagnosis/test_points.h"
#include "results/describe/pins.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

std::string volt(double v) {
  return engineering_text(std::abs(v) < 1e-3 ? 0 : v, "V", 3);
}

const SpreadRow* row_of(const SpreadReport& r, const Figure& reading) {
  const auto it = std::find_if(r.summary.rows.begin(), r.summary.rows.end(),
                               [&](const SpreadRow& row) { return row.figure == &reading; });
  return it == r.summary.rows.end() || it->known == 0 ? nullptr : &*it;
}

std::optional<double> broken_value(const SpreadReport& r, const SpreadReport::Broken& f,
                                   const Figure& reading) {
  Evaluation e;
  e.operating_point = f.point.point;
  return reading.measure(r.design, e);
}

/// What a meter shows that stands apart: not smaller than the reading's own step of a meter on its 200 V
/// range.
constexpr double kLeastTold_v = 0.1;

double out_of_band(const SpreadRow& row, double value) {
  const SwitchOff s = switch_off(row);
  const double out = value < s.low ? s.low - value : value > s.high ? value - s.high : 0;
  return out < kLeastTold_v ? 0 : out / std::max(kLeastTold_v, s.high - s.low);
}

constexpr double kLeastShown_v = 0.01;  // below this a hand-held meter shows nothing

/// A label as the tables have room for: 80 columns on a terminal.
std::string in_few_words(std::string label) {
  constexpr std::array<std::array<std::string_view, 2>, 2> kShorter{
      {{"first stage's ", "1st "}, {" between the stages", " between"}}};
  for (const auto& [words, fewer] : kShorter)
    if (const auto at = label.find(words); at != std::string::npos) label.replace(at, words.size(), fewer);
  return label;
}

/// A column of the table of defects.
struct Column {
  std::string_view head;
  const Figure* reading;
};

/// Plates and cathode, and what room for one more tells of.
std::vector<Column> columns_for(const Circuit& c) {
  const auto named = [](std::string_view name) {
    return &*std::find_if(readings().begin(), readings().end(),
                          [&](const Figure& f) { return f.name == name; });
  };
  const bool ahead = c.section(kFirstStage) != nullptr, second = c.section(1) != nullptr;
  const bool tail = std::any_of(c.begin(), c.end(), [](const Element& e) { return e.role == Role::tail; });
  std::vector<Column> all;
  if (ahead) all.push_back({"1st plate", named("first_plate_v")});
  all.push_back({second ? "plate 1" : "plate", named("plate_1_v")});
  if (second) all.push_back({"plate 2", named("plate_2_v")});
  all.push_back({"cathode", named("cathode_v")});
  if (tail && !ahead) all.push_back({"tail", named("tail_v")});
  return all;
}

}  // namespace

SwitchOff switch_off(const SpreadRow& row) {
  const double meter = kMeterPct / 100;
  return {row.least - meter * std::abs(row.least), row.most + meter * std::abs(row.most)};
}

namespace {

/// Those rows that a hand-held meter shows.
std::vector<const SpreadRow*> rows_between(const SpreadReport& r, std::size_t first, std::size_t last) {
  std::vector<const SpreadRow*> rows;
  for (std::size_t k = first; k < last; ++k) {
    const SpreadRow* row = row_of(r, readings()[k]);
    if (row && std::max(std::abs(row->least), std::abs(row->most)) >= kLeastShown_v) rows.push_back(row);
  }
  return rows;
}

std::string expected(const SpreadRow& row) {
  return row.nominal ? volt(*row.nominal) : "n/a";
}

}  // namespace

std::vector<SheetRow> rest_rows(const SpreadReport& r) {
  const std::vector<BenchReading> bench = bench_readings(r.design);
  const std::vector<TestPoint> points = test_points(r.design);
  std::vector<SheetRow> rows;
  for (const SpreadRow* row : rows_between(r, 0, readings_at_rest())) {
    const int place = place_of_reading(bench, row->figure->name);
    rows.push_back(
        {row, place < 0 ? "" : points_of(bench[static_cast<std::size_t>(place)], points), switch_off(*row)});
  }
  return rows;
}

ValueTable rest_reading_table(const SpreadReport& r) {
  ValueTable t;
  t.columns = {"", "TP", "expect", "5 %", "95 %", "off below", "off above", "measured"};
  for (const SheetRow& row : rest_rows(r))
    t.rows.push_back({std::string(row.row->figure->label), row.points, expected(*row.row), volt(row.row->low),
                      volt(row.row->high), volt(row.off.low), volt(row.off.high), ""});
  t.caption = "Without signal: DC voltages";
  t.notes = {
      "TP: test points as the circuit's drawing numbers them, one against ground, or from one to the other.",
      "Date: ______________  Tube: ______________  Meter: ______________",
      "5 % and 95 %: nine of ten sound builds lie between. Off below, off above: no build of the sample "
      "read so, meter error of " +
          engineering_text(kMeterPct, "%") + " included; switch off, discharge, and look before going on.",
      "Wait until the tubes are warm. A meter of 10 M\u03a9 reads grids and leak node low by the share "
      "that their leak is of 10 M\u03a9; measure the cathode instead where it matters."};
  for (const std::string& pins : all_pins(r.design)) t.notes.push_back(pins + ".");
  return t;
}

ValueTable level_reading_table(const SpreadReport& r) {
  ValueTable t;
  t.columns = {"", "expect", "5 %", "95 %"};
  for (const SpreadRow* row : rows_between(r, readings_at_rest(), readings().size()))
    t.rows.push_back({std::string(row->figure->label), expected(*row), volt(row->low), volt(row->high)});
  if (t.rows.empty()) return t;
  t.caption = "At full drive: AC levels for an oscilloscope, drive set so that the smaller output swings " +
              engineering_text(r.design.swing_peak_v, "V") + " peak";
  return t;
}

const SpreadRow* most_telling(const SpreadReport& r, const SpreadReport::Broken& f) {
  const SpreadRow* best = nullptr;
  double most = 0;
  for (std::size_t k = 0; k < readings_at_rest(); ++k) {
    const SpreadRow* row = row_of(r, readings()[k]);
    const auto value = broken_value(r, f, readings()[k]);
    if (!row || !value || !readings()[k].shown.defects) continue;
    const double out = out_of_band(*row, *value);
    if (out > most) {
      most = out;
      best = row;
    }
  }
  return best;
}

ValueTable defect_table(const SpreadReport& r) {
  ValueTable t;
  if (r.broken.empty()) return t;
  const Circuit& c = circuit_of(r.design);
  const bool two_outputs = c.outputs == 2;
  t.caption = "Which reading points to which defect (nominal parts; * outside what sound builds read)";
  const std::vector<Column> columns = columns_for(c);
  t.columns = {""};
  for (const Column& column : columns) t.columns.emplace_back(column.head);
  t.columns.emplace_back("look at first");
  t.words_last = true;
  bool unseen = false;
  for (const SpreadReport::Broken& f : r.broken) {
    if (f.defect.seen_in_ac_only) continue;
    std::vector<std::string> cells{in_few_words(f.defect.label)};
    const bool solved = f.point.point.solved == Solved::yes;
    for (const Column& column : columns) {
      const auto value = broken_value(r, f, *column.reading);
      const SpreadRow* row = row_of(r, *column.reading);
      cells.push_back(!solved || !value ? "n/a"
                                        : volt(*value) + (row && out_of_band(*row, *value) > 0 ? " *" : ""));
    }
    std::string look;
    for (std::size_t i = 0; i < (two_outputs ? 2u : 1u); ++i)
      if (std::abs(f.point.output_v[i]) >= kLeastTold_v)
        look = std::string("out") + (two_outputs ? " " + std::to_string(i + 1) : std::string()) + ": " +
               volt(f.point.output_v[i]);
    if (const SpreadRow* telling = most_telling(r, f); look.empty() && telling)
      look = telling->figure->name == "bias_v"            ? "across bias"
             : telling->figure->name == "first_plate_v"   ? "1st plate"
             : telling->figure->name == "first_cathode_v" ? "1st cathode"
                                                          : std::string(telling->figure->label);
    if (look.empty() && !f.defect.none()) {
      look = "not seen in DC";
      unseen = true;
    }
    cells.push_back(std::move(look));
    t.rows.push_back(std::move(cells));
  }
  t.notes = {
      "Out: DC behind an output's coupling capacitor, where there should be none. Leaking: 10 M\u03a9 across "
      "the "
      "capacitor, and the plate of the stage before at half the supply. Each "
      "row is the circuit solved again with that defect."};
  if (unseen) t.notes.push_back("What DC does not show, the AC levels do, or an insulation tester.");
  return t;
}

ValueTable ac_defect_table(const SpreadReport& r) {
  ValueTable t;
  if (r.broken.empty() || !r.broken.front().gain || r.nominal.at_target.solved != Solved::yes) return t;
  const Pair sound = *r.broken.front().gain;
  const auto count = static_cast<std::size_t>(circuit_of(r.design).outputs);
  const double drive_v = r.nominal.at_target.input_peak_v;
  t.caption = "Right in DC, wrong in AC: levels at the drive for the target";
  t.columns = {""};
  for (std::size_t i = 0; i < count; ++i)
    t.columns.push_back(count == 2 ? "output " + std::to_string(i + 1) : "output");
  t.columns.push_back("what stands out");
  t.words_last = true;
  constexpr double kMissing = 0.02, kTold = 0.1;
  for (const SpreadReport::Broken& f : r.broken) {
    if (!f.gain) continue;
    std::vector<std::string> cells{in_few_words(f.defect.label)};
    std::string words;
    for (std::size_t i = 0; i < count; ++i) {
      const double share = sound[i] != 0 ? (*f.gain)[i] / sound[i] : 0;
      cells.push_back(volt(std::abs((*f.gain)[i]) * drive_v));
      const std::string which = count == 2 ? "output " + std::to_string(i + 1) : "output";
      if (std::abs(share) < kMissing)
        words += (words.empty() ? "" : ", ") + which + " missing";
      else if (std::abs(share - 1) > kTold)
        words += (words.empty() ? "" : ", ") + which + (share < 1 ? " low" : " high");
    }
    if (words.empty() && !f.defect.none()) words = "little";
    cells.push_back(std::move(words));
    t.rows.push_back(std::move(cells));
  }
  if (t.rows.size() < 2) return {};
  t.notes = {"Small-signal gains times that drive, each solved with the capacitor taken out."};
  return t;
}

}  // namespace antiphase
