/// Line and column of a byte in a text.
#pragma once

#include <string_view>

#include "configs/json_document.h"

namespace antiphase {

/// Walks forward over a text. Columns count characters, not bytes; a byte order mark counts nothing.
class TextPosition {
 public:
  explicit TextPosition(std::string_view text);

  std::size_t offset() const { return offset_; }
  Place place() const { return {line_, column_}; }
  /// To a later byte, at most the end of the text.
  void advance_to(std::size_t offset);
  /// Over white space, comments, commas and colons, to the next token.
  void skip_filler();
  /// Over the token that starts here. The text is known to be good JSON up to its end.
  void skip_token();

 private:
  std::string_view text_;
  std::size_t offset_ = 0;
  int line_ = 1, column_ = 1;
};

/// Length of the UTF-8 byte order mark at the start of the text: 3 or 0.
std::size_t byte_order_mark(std::string_view text);

/// First byte that is not part of a well-formed UTF-8 character, or npos.
/// Source: table 3-7 of The Unicode Standard, chapter 3 (well-formed byte sequences).
std::size_t find_not_utf8(std::string_view text);

}  // namespace antiphase
