/// A text table whose columns line up on any UTF-8 terminal.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "results/describe/candidate_columns.h"

namespace antiphase {

/// Headings may have several lines ("plate\nresistor\nkΩ"); they stand at the bottom of the heading block
/// and over their cells. `point`: numbers line up at the decimal point.
class Table {
 public:
  using Align = TextColumn::Align;
  struct Column {
    std::string heading;
    Align align = Align::right;
  };

  explicit Table(std::vector<Column> columns, std::size_t gap = 1)
      : columns_(std::move(columns)), gap_(gap) {}

  /// #columns cells; a shorter row is filled with empty cells.
  void add_row(std::vector<std::string> cells);
  bool empty() const { return rows_.empty(); }

  /// Heading and a rule (neither if all headings are empty), the rows; each line ends with a line feed and
  /// has no spaces at its end.
  std::string text(std::size_t indent = 0) const;

  /// The same within `screen` columns: closer together if need be, and where that is not enough in several
  /// tables with an empty line between them, each of which begins with the first column and has the rows that
  /// say something. A column that is too wide beside the first alone stands as it is.
  std::string text_within(std::size_t screen, std::size_t indent = 0) const;

  /// Columns that the longest line takes.
  std::size_t width() const;

 private:
  struct Layout;
  Layout layout() const;
  Table with_columns(const std::vector<std::size_t>& kept, std::size_t gap) const;
  /// Without the rows that say nothing beside their first cell.
  Table without_bare_rows() const;

  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
  std::size_t gap_;
};

}  // namespace antiphase
