/// Comma-separated values for spreadsheets.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace antiphase {

/// A table as RFC 4180 has it: CRLF line ends, fields with commas, quotes or line breaks quoted.
/// Text that a spreadsheet would take for a formula (first character = + - @, tab or carriage return)
/// gets an apostrophe in front. Numbers are written shortest, with a point, whatever the locale.
class CsvTable {
 public:
  CsvTable& text(std::string_view);
  CsvTable& number(const std::optional<double>&);  ///< an empty field for none, NaN and infinity
  CsvTable& integer(long long);
  CsvTable& end_row();
  std::string take() && { return std::move(text_); }

 private:
  void field(std::string_view);
  std::string text_;
  bool row_begun_ = false;
};

}  // namespace antiphase
