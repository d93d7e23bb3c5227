#include "results/terminal/diagnosis_text.h"

#include "results/describe/safety.h"
#include "results/describe/values.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

constexpr std::size_t kIndent = 2, kScreen = 80;

std::string sentences(const std::vector<std::string>& all) {
  std::string text;
  for (const std::string& s : all) text += "  " + wrapped(printable(s), kScreen - kIndent, kIndent);
  return text;
}

std::string table(const ValueTable& values) {
  if (values.rows.empty()) return "";
  std::string text = values.caption.empty() ? "" : wrapped(values.caption) + "\n";
  std::vector<Table::Column> columns;
  for (const std::string& heading : values.columns)
    columns.push_back({heading, columns.empty() ? Table::Align::left : Table::Align::right});
  if (values.words_last) columns.back().align = Table::Align::left;
  Table t(columns, 2);
  for (const auto& row : values.rows) t.add_row(row);
  text += t.text_within(kScreen, kIndent) + "\n";
  return text + sentences(values.notes) + (values.notes.empty() ? "" : "\n");
}

/// Labels of faults are longer than a table has room for: a line each, what to do below it.
std::string faults(const ValueTable& values) {
  if (values.rows.empty()) return "";
  std::string text = values.caption + "\n\n";
  for (const auto& row : values.rows) {
    text += "  " + padded_left(row[1], 9) + "  " + wrapped(row[0] + " (before: " + row[2] + ")", 67, 13);
    if (!row[3].empty()) text += std::string(15, ' ') + wrapped(row[3], 65, 15);
  }
  return text + "\n";
}

}  // namespace

std::string diagnosis_text(const DiagnosisReport& r) {
  std::string text = wrapped(kSafetyLine) + "\n";
  text += wrapped(printable(design_in_words(r.design)), kScreen, kIndent) + "\n";
  text += sentences(verdict(r)) + "\n";
  if (!r.diagnosis.known) return text;
  text += faults(fault_table(r)) + table(taken_table(r)) + table(quantity_table(r));
  text += "What to measure next\n\n" + sentences(next_in_words(r)) + "\n";
  text += "What to change\n\n" + sentences(change_in_words(r)) + "\n" + table(change_table(r));
  return text + "What this rests on\n\n" + sentences(grounds(r));
}

}  // namespace antiphase
