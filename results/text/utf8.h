/// One code point at a time out of UTF-8.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace antiphase {

struct CodePoint {
  std::uint32_t value = 0;
  std::size_t bytes = 1;
  bool valid = false;  ///< false: `bytes` is 1 and the byte begins no well-formed sequence
};

/// The code point at `text[at]`, at < text.size(). Source: RFC 3629, section 4 (overlong forms and
/// surrogates are not valid).
inline CodePoint code_point(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(text[at + i]); };
  const std::uint8_t first = byte(0);
  if (first < 0x80) return {first, 1, true};
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || at + length > text.size()) return {};
  std::uint32_t value = first & (0xFFu >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0) != 0x80) return {};
    value = value << 6 | (byte(i) & 0x3Fu);
  }
  constexpr std::uint32_t kLeast[] = {0, 0, 0x80, 0x800, 0x10000};
  if (value < kLeast[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) return {};
  return {value, length, true};
}

}  // namespace antiphase
