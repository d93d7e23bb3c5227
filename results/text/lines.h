/// Text that has to line up or fit a width: counted in terminal columns, not in bytes.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace antiphase {

/// Columns that valid UTF-8 takes on a terminal: 0 for combining marks, 2 for wide East Asian
/// characters, 1 for the rest. Source: Unicode UAX #11 (the ranges in use, not the whole table).
std::size_t display_width(std::string_view utf8);

/// `text` with spaces behind / before it up to `width` columns; longer text stays as it is.
std::string padded_right(std::string_view text, std::size_t width);
std::string padded_left(std::string_view text, std::size_t width);

/// Text from a file made safe to print: control characters (C0, DEL, C1), line and paragraph separators and
/// marks that turn the writing direction become spaces, line feeds too unless kept, bytes that are not UTF-8
/// '?'.
std::string printable(std::string_view text, bool keep_line_feeds = false);

/// Breaks at spaces so that no line passes `width` columns (a longer word stands alone), but not
/// between a number and its unit, nor behind "≤" and "≥".
/// Lines after the first begin with `indent` spaces. Ends with a line feed.
std::string wrapped(std::string_view text, std::size_t width = 80, std::size_t indent = 0);

}  // namespace antiphase
