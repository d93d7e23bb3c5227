#include "configs/text_position.h"

#include <algorithm>

namespace antiphase {

TextPosition::TextPosition(std::string_view text) : text_(text), offset_(byte_order_mark(text)) {}

void TextPosition::advance_to(std::size_t offset) {
  for (offset = std::min(offset, text_.size()); offset_ < offset; ++offset_) {
    const auto byte = static_cast<unsigned char>(text_[offset_]);
    if (byte == '\n') {
      ++line_;
      column_ = 1;
    } else if ((byte & 0xc0) != 0x80) {  // bytes 10xxxxxx continue a character
      ++column_;
    }
  }
}

void TextPosition::skip_filler() {
  std::size_t at = offset_;
  while (at < text_.size()) {
    const auto two = text_.substr(at, 2);
    if (two == "//")
      at = std::min(text_.find_first_of("\r\n", at), text_.size());
    else if (two == "/*" && text_.find("*/", at + 2) != std::string_view::npos)
      at = text_.find("*/", at + 2) + 2;
    else if (std::string_view(" \t\r\n,:").find(text_[at]) != std::string_view::npos)
      ++at;
    else
      break;
  }
  advance_to(at);
}

void TextPosition::skip_token() {
  std::size_t at = offset_;
  if (at >= text_.size()) return;
  if (text_[at] == '"') {
    for (++at; at < text_.size() && text_[at] != '"'; ++at)
      if (text_[at] == '\\') ++at;
    ++at;
  } else if (std::string_view("{}[]").find(text_[at]) != std::string_view::npos) {
    ++at;
  } else {  // a number or a literal
    at = std::min(text_.find_first_not_of("+-.0123456789abcdefghijklmnopqrstuvwxyzE", at), text_.size());
  }
  advance_to(at);
}

std::size_t byte_order_mark(std::string_view text) {
  return text.substr(0, 3) == "\xef\xbb\xbf" ? 3 : 0;
}

std::size_t find_not_utf8(std::string_view text) {
  const auto byte = [&](std::size_t i) -> unsigned {
    return i < text.size() ? static_cast<unsigned char>(text[i]) : 0;
  };
  const auto continues = [&](std::size_t i, unsigned low = 0x80, unsigned high = 0xbf) {
    return byte(i) >= low && byte(i) <= high;
  };
  for (std::size_t i = 0; i < text.size();) {
    const unsigned b = byte(i);
    if (b < 0x80) {
      i += 1;
    } else if (b >= 0xc2 && b <= 0xdf && continues(i + 1)) {
      i += 2;
    } else if (b >= 0xe0 && b <= 0xef && continues(i + 1, b == 0xe0 ? 0xa0 : 0x80, b == 0xed ? 0x9f : 0xbf) &&
               continues(i + 2)) {
      i += 3;
    } else if (b >= 0xf0 && b <= 0xf4 && continues(i + 1, b == 0xf0 ? 0x90 : 0x80, b == 0xf4 ? 0x8f : 0xbf) &&
               continues(i + 2) && continues(i + 3)) {
      i += 4;
    } else {
      return i;
    }
  }
  return std::string_view::npos;
}

}  // namespace antiphase
