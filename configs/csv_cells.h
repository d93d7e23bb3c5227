/// What readers of files with commas have in common: lines, cells, plain numbers.
#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace antiphase {

/// Without blanks, tabs and carriage returns at both ends.
std::string_view trimmed(std::string_view text);

/// ASCII letters and, in UTF-8, German capital umlauts.
std::string in_lower_case(std::string_view text);

struct Cell {
  std::string_view text;  ///< trimmed
  int column = 1;         ///< of its first character, from 1
};
/// What the commas of a line set apart. The line must outlive the cells.
std::vector<Cell> cells_of(std::string_view line);

/// A number with a decimal point, a plus sign before it allowed; nothing if it is none or not finite.
std::optional<double> plain_number(std::string_view text);

/// Calls `each(line)` for every line, without a byte order mark before the first.
template <class Each>
void for_each_line(std::string_view text, Each each) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    each(text.substr(from, end - from));
    from = end + 1;
  }
}

}  // namespace antiphase
