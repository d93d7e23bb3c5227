#include "results/terminal/side_by_side_text.h"

#include <algorithm>

#include "results/describe/cautions.h"
#include "results/describe/safety.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

using A = Table::Align;
constexpr std::size_t kIndent = 2, kScreen = 80;

/// The labels and the designs from `first` to before `end`.
Table part_of(const ValueTable& values, std::size_t first, std::size_t end) {
  std::vector<Table::Column> columns{{values.columns.front(), A::left}};
  for (std::size_t c = first; c < end; ++c) columns.push_back({values.columns[c], A::right});
  Table table(columns, 2);
  for (const auto& row : values.rows) {
    std::vector<std::string> cells{row.front()};
    cells.insert(cells.end(), row.begin() + static_cast<std::ptrdiff_t>(first),
                 row.begin() + static_cast<std::ptrdiff_t>(end));
    table.add_row(cells);
  }
  return table;
}

}  // namespace

std::string side_by_side_text(const std::vector<NamedRecord>& records) {
  const ValueTable values = side_by_side(records);
  std::string text = values.caption + "\n";
  for (std::size_t first = 1, end; first < values.columns.size(); first = end) {
    end = first + 1;
    while (end < values.columns.size() && part_of(values, first, end + 1).width() + kIndent <= kScreen) ++end;
    text += "\n" + part_of(values, first, end).text(kIndent);
  }
  text += "\n";
  for (const std::string& note : values.notes) text += "! " + wrapped(printable(note), kScreen - 2, kIndent);
  for (std::size_t i = 0; i < records.size(); ++i)
    for (const std::string& sentence : cautions(records[i].record))
      text += wrapped("Caution, " + printable(values.columns[i + 1] + ": " + sentence));
  return text + wrapped(kSafetyLine);
}

}  // namespace antiphase
