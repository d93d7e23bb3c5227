#include "results/json/json_writer.h"

#include <array>
#include <cassert>
#include <charconv>
#include <cmath>
#include <cstdlib>

#include "results/text/utf8.h"

namespace antiphase {
namespace {

std::string number_text(double v, int digits) {
  std::array<char, 40> text;
  const auto begin = text.data(), limit = text.data() + text.size();
  if (digits > 0) {  // round first, then print that double in its shortest form
    const auto end = std::to_chars(begin, limit, v, std::chars_format::scientific, digits - 1).ptr;
#ifdef __cpp_lib_to_chars
    std::from_chars(begin, end, v);
#else  // a library that can write them but not read them
    *end = '\0';
    v = std::strtod(begin, nullptr);
#endif
  }
  if (v == 0) return "0";  // no "-0"
  const double size = std::abs(v);
  const bool plain = size >= 1e-4 && size < 1e15;
  const auto end =
      plain ? std::to_chars(begin, limit, v, std::chars_format::fixed) : std::to_chars(begin, limit, v);
  return {begin, end.ptr};
}

}  // namespace

std::string json_string(std::string_view text) {
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string out = "\"";
  for (std::size_t at = 0; at < text.size();) {
    const CodePoint c = code_point(text, at);
    if (!c.valid) {
      out += "\\ufffd";
    } else if (c.value == '"' || c.value == '\\') {
      out += '\\';
      out += text[at];
    } else if (c.value == '\n') {
      out += "\\n";
    } else if (c.value < 0x20 || c.value == '<' || c.value == 0x7F) {
      out += "\\u00";
      out += kHex[c.value >> 4];
      out += kHex[c.value & 15];
    } else {
      out += text.substr(at, c.bytes);
    }
    at += c.bytes;
  }
  return out + '"';
}

void JsonWriter::new_line() {
  if (style_ == Style::dense) return;
  text_ += '\n';
  text_.append(2 * levels_.size(), ' ');
}

void JsonWriter::before_element() {
  if (after_key_) {
    after_key_ = false;
    return;
  }
  if (levels_.empty()) return;
  Level& level = levels_.back();
  if (!level.empty) text_ += level.one_line && style_ == Style::indented ? ", " : ",";
  level.empty = false;
  if (!level.one_line) new_line();
}

JsonWriter& JsonWriter::open(char bracket, bool one_line) {
  before_element();
  const bool inside_line = !levels_.empty() && levels_.back().one_line;
  levels_.push_back({one_line || inside_line, true});
  text_ += bracket;
  return *this;
}

JsonWriter& JsonWriter::close(char bracket) {
  assert(!levels_.empty() && !after_key_);
  const Level level = levels_.back();
  levels_.pop_back();
  if (!level.one_line && !level.empty) new_line();
  text_ += bracket;
  return *this;
}

JsonWriter& JsonWriter::raw(std::string_view text) {
  before_element();
  text_ += text;
  return *this;
}

JsonWriter& JsonWriter::key(std::string_view name) {
  assert(!levels_.empty() && !after_key_);
  raw(json_string(name));
  text_ += style_ == Style::indented ? ": " : ":";
  after_key_ = true;
  return *this;
}

JsonWriter& JsonWriter::null() {
  return raw("null");
}
JsonWriter& JsonWriter::value(bool v) {
  return raw(v ? "true" : "false");
}
JsonWriter& JsonWriter::value(double v) {
  return std::isfinite(v) ? raw(number_text(v, digits_)) : null();
}
JsonWriter& JsonWriter::value(std::int64_t v) {
  return raw(std::to_string(v));
}
JsonWriter& JsonWriter::value(std::uint64_t v) {
  return raw(std::to_string(v));
}
JsonWriter& JsonWriter::value(std::string_view v) {
  return raw(json_string(v));
}

JsonWriter& JsonWriter::value(std::span<const double> numbers) {
  begin_array(true);
  for (double v : numbers) value(v);
  return end_array();
}

}  // namespace antiphase
