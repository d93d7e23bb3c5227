#include "results/text/lines.h"

#include <algorithm>
#include <array>
#include <cctype>

#include "results/text/units.h"
#include "results/text/utf8.h"

namespace antiphase {
namespace {

struct Range {
  std::uint32_t first, last;
};
constexpr std::array<Range, 9> kWide{{{0x1100, 0x115F},
                                      {0x2E80, 0xA4CF},
                                      {0xAC00, 0xD7A3},
                                      {0xF900, 0xFAFF},
                                      {0xFE30, 0xFE6F},
                                      {0xFF00, 0xFF60},
                                      {0xFFE0, 0xFFE6},
                                      {0x1F300, 0x1FAFF},
                                      {0x20000, 0x3FFFD}}};
constexpr std::array<Range, 6> kNoWidth{{{0x0300, 0x036F},
                                         {0x1AB0, 0x1AFF},
                                         {0x200B, 0x200F},
                                         {0x20D0, 0x20FF},
                                         {0xFE00, 0xFE0F},
                                         {0xFE20, 0xFE2F}}};

/// Line and paragraph separators, and marks that turn the direction of what follows them, so that it reads as
/// something else. Source: N. Boucher, R. Anderson, "Trojan Source: Invisible Vulnerabilities", USENIX
/// Security 2023; Unicode UAX #9.
constexpr std::array<Range, 2> kTurning{{{0x2028, 0x202E}, {0x2066, 0x2069}}};

template <std::size_t N>
bool in(const std::array<Range, N>& ranges, std::uint32_t c) {
  return std::any_of(ranges.begin(), ranges.end(), [c](Range r) { return r.first <= c && c <= r.last; });
}

/// A unit as engineering_text writes it, punctuation behind it allowed.
bool is_unit(std::string_view word) {
  constexpr std::array<std::string_view, 10> kUnits{"V", "A", "W", "Ω", "F", "S", "Hz", "s", "dB", "%"};
  word = word.substr(0, word.find_last_not_of(".,;:)") + 1);
  return std::any_of(kUnits.begin(), kUnits.end(), [&](std::string_view unit) {
    if (!word.ends_with(unit)) return false;
    const std::string_view prefix = word.substr(0, word.size() - unit.size());
    return std::any_of(kSiPrefixes.begin(), kSiPrefixes.end(), [&](SiPrefix p) { return p.text == prefix; });
  });
}

/// Where the piece that begins at `at` ends: a word, together with what must stand on its line.
std::size_t piece_end(std::string_view text, std::size_t at) {
  const auto word_end = [&](std::size_t from) { return std::min(text.find(' ', from), text.size()); };
  std::size_t end = word_end(at);
  const std::string_view first = text.substr(at, end - at);
  std::size_t next = text.find_first_not_of(' ', end);
  if (next < text.size() && (first == "≤" || first == "≥")) {
    end = word_end(next);
    next = text.find_first_not_of(' ', end);
  }
  if (next < text.size() && std::isdigit(static_cast<unsigned char>(text[end - 1]))) {
    const std::size_t unit_end = word_end(next);
    if (is_unit(text.substr(next, unit_end - next))) end = unit_end;  // "47 kΩ"
  }
  return end;
}

}  // namespace

std::size_t display_width(std::string_view utf8) {
  std::size_t width = 0;
  for (std::size_t at = 0; at < utf8.size();) {
    const CodePoint c = code_point(utf8, at);
    width += in(kNoWidth, c.value) ? 0u : in(kWide, c.value) ? 2u : 1u;
    at += c.bytes;
  }
  return width;
}

std::string padded_right(std::string_view text, std::size_t width) {
  const std::size_t has = display_width(text);
  return std::string(text) + std::string(width > has ? width - has : 0, ' ');
}

std::string padded_left(std::string_view text, std::size_t width) {
  const std::size_t has = display_width(text);
  return std::string(width > has ? width - has : 0, ' ') + std::string(text);
}

std::string printable(std::string_view text, bool keep_line_feeds) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint c = code_point(text, at);
    const bool control = c.value < 0x20 || (c.value >= 0x7F && c.value < 0xA0) || in(kTurning, c.value);
    if (!c.valid)
      out += '?';
    else if (control && !(keep_line_feeds && c.value == '\n'))
      out += ' ';
    else
      out += text.substr(at, c.bytes);
    at += c.bytes;
  }
  return out;
}

std::string wrapped(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  std::size_t column = 0;
  for (std::size_t at = text.find_first_not_of(' '); at < text.size();) {
    const std::size_t end = piece_end(text, at);
    const std::string_view word = text.substr(at, end - at);
    const std::size_t length = display_width(word);
    if (column > 0 && column + 1 + length > width) {
      out += '\n';
      out.append(indent, ' ');
      column = indent;
    } else if (column > 0) {
      out += ' ';
      ++column;
    }
    out += word;
    column += length;
    at = text.find_first_not_of(' ', end);
  }
  out += '\n';
  return out;
}

}  // namespace antiphase
