#include "results/terminal/report_text.h"

#include <algorithm>

#include "results/describe/against.h"
#include "results/describe/builds_ranking.h"
#include "results/describe/candidate_columns.h"
#include "results/describe/cautions.h"
#include "results/describe/conflict.h"
#include "results/describe/every_combination.h"
#include "results/describe/explain.h"
#include "results/describe/law_bands.h"
#include "results/describe/parts_list.h"
#include "results/describe/safety.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

constexpr std::size_t kScreen = 80;

using Records = std::vector<const Record*>;

template <class Cell>
TextColumn column(std::string heading, TextColumn::Align align, const Records& records, Cell&& cell) {
  TextColumn c{std::move(heading), align, {}};
  for (const Record* r : records) c.cells.push_back(cell(*r));
  return c;
}

TextColumn rank_column(const Records& records) {
  return column("rank", TextColumn::Align::right, records,
                [](const Record& r) { return std::to_string(r.rank); });
}

Table table_of(const std::vector<TextColumn>& columns, std::size_t gap = 2) {
  std::vector<Table::Column> headings;
  for (const TextColumn& c : columns) headings.push_back({c.heading, c.align});
  Table table(headings, gap);
  for (std::size_t row = 0; row < columns.front().cells.size(); ++row) {
    std::vector<std::string> cells;
    for (const TextColumn& c : columns) cells.push_back(printable(c.cells[row]));
    table.add_row(cells);
  }
  return table;
}

Table build_table(const Records& records) {
  std::vector<TextColumn> columns = build_columns(records);
  columns.insert(columns.begin(), rank_column(records));
  Table table = table_of(columns);
  return table.width() <= kScreen ? table : table_of(columns, 1);
}

Table figures_table(const Report& report, const Records& records, const std::vector<std::size_t>& shown) {
  using A = TextColumn::Align;
  std::vector<TextColumn> columns{rank_column(records)};
  if (std::any_of(records.begin(), records.end(), [](const Record* r) { return r->score.has_value(); }))
    columns.push_back(column("score", A::point, records, score_text));
  for (TextColumn& c : figure_columns(records, shown)) columns.push_back(std::move(c));
  const std::vector<TradeOffPoint> points = trade_off(report);
  columns.push_back(
      column("", A::left, records, [&](const Record& r) { return remark_in_words(r, points); }));
  return table_of(columns);
}

}  // namespace

std::string ranked_table(const Report& report, int most) {
  const auto count = std::min(report.candidates.size(), static_cast<std::size_t>(std::max(most, 0)));
  Records records;
  for (std::size_t i = 0; i < count; ++i) records.push_back(&report.candidates[i]);
  if (records.empty()) return "No candidates.\n";

  std::vector<std::size_t> shown = figures_to_show(report);
  Table does = figures_table(report, records, shown);
  while (does.width() > kScreen && shown.size() > 1) {  // the last ones matter least
    shown.pop_back();
    does = figures_table(report, records, shown);
  }
  std::string text = "What to build\n\n" + build_table(records).text() + "\nWhat it does\n\n" + does.text();
  if (count < report.candidates.size())
    text += wrapped(std::to_string(report.candidates.size() - count) + " more stand in the files.");
  return text;
}

std::string pareto_summary(const Report& report) {
  std::string text;
  for (const TradeOffPoint& point : trade_off(report)) {
    text += wrapped(point.name + ": " + point.figures, kScreen, 2);
    text += "  " + wrapped(printable(design_in_words(point.record->design)), kScreen - 2, 4);
  }
  return text;
}

namespace {

/// Choices along the front that have no name of their own, and what each step costs.
std::string steps_text(const Report& report) {
  const std::vector<std::string> steps = trade_off_steps(report);
  if (steps.empty()) return "";
  std::string text;
  for (const TradeOffPoint& point : choices(report)) {
    if (point.name.rfind("Choice", 0) != 0) continue;
    text += wrapped(point.name + ": " + point.figures, kScreen, 2);
    text += "  " + wrapped(printable(design_in_words(point.record->design)), kScreen - 2, 4);
  }
  text += "\nAlong the front (changes above a twentieth of what it spans)\n\n";
  for (const std::string& step : steps) text += wrapped(step, kScreen, 2);
  return text;
}

std::string tubes_text(const Report& report) {
  if (report.best_of_tubes.empty()) return "";
  std::string text = "\nThe best of each tube\n\n";
  for (const std::string& sentence : tubes_in_words(report)) text += wrapped(printable(sentence), kScreen, 2);
  return text;
}

/// The table of steps; what a step breaks stands below it under a letter, since words are too wide beside it.
std::string steps_of(const Record& r, const Demands& demands) {
  ValueTable values = step_table(r, demands);
  if (values.rows.empty()) return "";
  std::vector<std::string> broken;
  for (auto& row : values.rows) {
    if (row.back().empty()) continue;
    auto at = std::find(broken.begin(), broken.end(), row.back());
    if (at == broken.end()) at = broken.insert(at, row.back());
    row.back() = std::string(1, static_cast<char>('a' + (at - broken.begin()) % 26));
  }
  const auto table = [&] {
    std::vector<Table::Column> headings;
    for (std::string c : values.columns) {
      std::replace(c.begin(), c.end(), ' ', '\n');
      headings.push_back({c, Table::Align::right});
    }
    headings.front().align = headings.back().align = Table::Align::left;
    Table t(headings, 2);
    for (const auto& row : values.rows) t.add_row(row);
    return t;
  };
  while (table().width() > kScreen && values.columns.size() > 4) {  // the last figures matter least
    const auto last = static_cast<std::ptrdiff_t>(values.columns.size()) - 2;
    values.columns.erase(values.columns.begin() + last);
    for (auto& row : values.rows) row.erase(row.begin() + last);
  }
  std::string text = wrapped(values.caption + ":") + "\n" + table().text();
  for (std::size_t k = 0; k < broken.size(); ++k)
    text += wrapped(std::string(1, static_cast<char>('a' + k % 26)) + ": breaks " + broken[k], kScreen, 3);
  for (const std::string& note : values.notes) text += wrapped(note);
  return text;
}

/// Why the first is what it is.
std::string why_text(const Report& report) {
  if (report.candidates.empty() || !report.candidates.front().feasible) return "";
  const Record& best = report.candidates.front();
  if (best.explanation.neighbours == 0) return "";
  std::string text = "\nWhy the first is first\n\n";
  for (const std::string& sentence : binding_in_words(best)) text += wrapped(sentence, kScreen, 2);
  const std::string lead = lead_in_words(best.lead, report.demands, "the next");
  if (!lead.empty()) text += wrapped(lead, kScreen, 2);
  const std::vector<std::string> give = loosenings_in_words(best, report.demands);
  if (!give.empty()) text += wrapped("What would have to give for a better score:");
  for (const std::string& sentence : give) text += "  " + wrapped(sentence, kScreen - 2, 4);
  return text + "\n" + steps_of(best, report.demands);
}

std::string words_table(const ValueTable& values) {
  if (values.empty()) return "";
  const auto table = [&](std::size_t gap) {
    std::vector<Table::Column> headings;
    for (const std::string& c : values.columns) {
      std::string stacked = wrapped(c, 12);
      stacked.pop_back();
      headings.push_back({stacked, Table::Align::right});
    }
    if (values.words_last) headings.back().align = Table::Align::left;
    Table t(headings, gap);
    for (const auto& row : values.rows) t.add_row(row);
    return t;
  };
  std::string text =
      "\n" + wrapped(values.caption) + "\n" + table(table(2).width() <= kScreen ? 2 : 1).text();
  for (const std::string& note : values.notes) text += wrapped(note);
  return text;
}

/// Nominal and robust beside each other, and the bands of each candidate where they were asked for: a block a
/// candidate, since bands are wide.
std::string builds_text(const Report& report) {
  std::string text = words_table(builds_ranking_table(report));
  for (const std::string& sentence : builds_ranking_in_words(report)) text += wrapped(sentence);
  const ValueTable bands = candidate_bands_table(report);
  if (bands.empty()) return text;
  text += "\n" + wrapped(bands.caption) + "\n";
  for (const auto& row : bands.rows) {
    std::string line = "rank " + row[0] + ": ";
    for (std::size_t c = 1; c < row.size(); ++c)
      line += (c > 1 ? "; " : "") + bands.columns[c] + " " + row[c];
    text += wrapped(line, kScreen, 2);
  }
  for (const std::string& note : bands.notes) text += wrapped(note);
  return text;
}

}  // namespace

std::string report_text(const Report& report) {
  std::string text = wrapped(printable(report.title)) + "\n";
  if (!report.candidates.empty() && !report.candidates.front().feasible) {
    text += wrapped("Nothing satisfies this brief; these come nearest. What stands in the way:");
    for (const std::string& demand : report.blocked_by)
      text += "  " + wrapped(printable(demand), kScreen - 2, 4);
    if (report.conflict) {
      text += "\nWhat conflicts\n\n";
      for (const std::string& sentence : conflict_in_words(*report.conflict))
        text += "  " + wrapped(printable(sentence), kScreen - 2, 4);
    }
    text += "\n";
  }
  text += ranked_table(report);
  for (const std::string& sentence : plate_2_in_words(report.candidates)) text += wrapped(sentence);
  text += builds_text(report);
  const ValueTable bands = ranked_band_table(report.candidates);
  if (!bands.empty()) {
    std::vector<Table::Column> headings;
    for (const std::string& c : bands.columns) headings.push_back({c, Table::Align::right});
    headings.back().align = Table::Align::left;
    Table table(headings, 2);
    for (const auto& row : bands.rows) table.add_row(row);
    text += "\n" + bands.caption + "\n\n" + table.text();
    for (const std::string& note : bands.notes) text += wrapped(note);
  }
  const std::string ends = pareto_summary(report);
  if (!ends.empty())
    text += "\nThe trade-off (" + std::to_string(report.pareto.size()) +
            " designs that no other one beats)\n\n" + ends;
  text += steps_text(report) + tubes_text(report) + why_text(report);
  if (report.against) {
    text += "\nAgainst other results\n\n";
    for (const std::string& sentence : against_in_words(report))
      text += wrapped(printable(sentence), kScreen, 2);
  }
  if (!report.candidates.empty())
    for (const std::string& sentence : cautions(report.candidates.front()))
      text += "\n" + wrapped("Caution, for the first: " + printable(sentence));
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  for (const std::string& sentence : every_combination_in_words(report.run, met))
    text += "\n" + wrapped(sentence);
  if (!report.run.finished)
    text += "\n" + wrapped("The search ended early (" + report.run.why_stopped +
                           "); better designs may be left unseen. The same command with --continue goes on.");
  return text + "\n" + wrapped(kSafetyLine);
}

}  // namespace antiphase
