#include "results/terminal/report_text.h"

#include <algorithm>

#include "results/describe/candidate_columns.h"
#include "results/describe/cautions.h"
#include "results/describe/every_combination.h"
#include "results/describe/law_bands.h"
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

std::string report_text(const Report& report) {
  std::string text = wrapped(printable(report.title)) + "\n";
  if (!report.candidates.empty() && !report.candidates.front().feasible) {
    text += wrapped("Nothing satisfies this brief; these come nearest. What stands in the way:");
    for (const std::string& demand : report.blocked_by)
      text += "  " + wrapped(printable(demand), kScreen - 2, 4);
    text += "\n";
  }
  text += ranked_table(report);
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
  if (!report.candidates.empty())
    for (const std::string& sentence : cautions(report.candidates.front()))
      text += "\n" + wrapped("Caution, for the first: " + printable(sentence));
  const bool met = !report.candidates.empty() && report.candidates.front().feasible;
  for (const std::string& sentence : every_combination_in_words(report.run, met))
    text += "\n" + wrapped(sentence);
  if (!report.run.complete)
    text += "\n" + wrapped("The search ended early (" + report.run.why_stopped +
                           "); better designs may be left unseen. The same command with --continue goes on.");
  return text + "\n" + wrapped(kSafetyLine);
}

}  // namespace antiphase
