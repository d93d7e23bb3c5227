#include "results/terminal/spread_text.h"

#include "results/describe/measuring_sheet.h"
#include "results/describe/own_tube.h"
#include "results/describe/safety.h"
#include "results/describe/values.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

constexpr std::size_t kIndent = 2, kScreen = 80;

std::string block(const ValueTable& values) {
  if (values.empty()) return "";
  std::string text = wrapped(values.caption) + "\n";
  const auto table = [&](std::size_t gap) {
    std::vector<Table::Column> columns;
    for (const std::string& heading : values.columns)
      columns.push_back({heading, columns.empty() ? Table::Align::left : Table::Align::right});
    if (values.words_last) columns.back().align = Table::Align::left;
    Table t(columns, gap);
    for (const auto& row : values.rows) t.add_row(row);
    return t;
  };
  if (!values.rows.empty()) text += table(table(2).width() + kIndent <= kScreen ? 2 : 1).text(kIndent) + "\n";
  for (const std::string& note : values.notes) text += "  " + wrapped(note, 78, kIndent);
  return text + (values.notes.empty() ? "" : "\n");
}

/// Words do not line up as numbers do.
std::string drivers(const ValueTable& values) {
  std::string text = wrapped(values.caption) + "\n";
  for (const auto& row : values.rows) {
    std::string line = row[0] + ": " + row[1];
    for (std::size_t k = 2; k < row.size(); ++k)
      if (!row[k].empty()) line += "; " + row[k];
    if (row[1].empty()) line += "nothing by itself";
    text += "  " + wrapped(line, kScreen - 2, 6);
  }
  text += "\n";
  for (const std::string& note : values.notes) text += "  " + wrapped(note, 78, kIndent);
  return text + "\n";
}

}  // namespace

std::string measuring_sheet_text(const SpreadReport& r) {
  std::string text = "MEASURING SHEET\n\n" + wrapped(kSafetyLine) + "\n";
  text += wrapped(printable(design_in_words(r.design)), kScreen, kIndent) + "\n";
  return text + block(rest_reading_table(r)) + block(level_reading_table(r)) + block(defect_table(r)) +
         block(ac_defect_table(r));
}

std::string spread_text(const SpreadReport& r) {
  std::string text = wrapped(printable(design_in_words(r.design)), kScreen, kIndent) + "\n";
  for (const std::string& sentence : own_tubes_in_words(r.own_tubes))
    text += "  " + wrapped(sentence, 78, kIndent);
  if (!r.own_tubes.empty()) text += "\n";
  text += wrapped(spread_in_words(r)) + "\n";
  text += block(figure_spread_table(r)) + drivers(driver_table(r)) + block(missed_table(r)) +
          block(tightening_table(r)) + block(corner_table(r)) + block(adjusted_table(r));
  for (const std::string& sentence : recipes_in_words(r)) text += "  " + wrapped(sentence, 78, kIndent);
  if (!r.adjusted.empty()) text += "\n";
  text += "What was varied\n\n";
  for (const std::string& sentence : assumptions(r.design, r.tolerances))
    text += "  " + wrapped(sentence, 78, kIndent);
  return text + "\n" + measuring_sheet_text(r);
}

}  // namespace antiphase
