/// JSON text, member by member, in the order written.
/// Not nlohmann's dump(): it prints 320 as "320.0", not every number in its shortest form, and
/// one array element per line; files that people read and compare want all three otherwise.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace antiphase {

/// Objects and arrays stand one element a line unless begun with `one_line`. A number is the shortest text
/// that reads back as the same double, plain from 1e-4 to 1e15; NaN and infinity become null. Text that is no
/// valid UTF-8 has its bad bytes replaced by U+FFFD. Calls must pair up (asserted); `key` only inside an
/// object.
class JsonWriter {
 public:
  enum class Style { indented, dense };

  /// `digits` > 0: numbers rounded to so many significant digits, for plots.
  explicit JsonWriter(Style style = Style::indented, int digits = 0) : style_(style), digits_(digits) {}

  JsonWriter& begin_object(bool one_line = false) { return open('{', one_line); }
  JsonWriter& end_object() { return close('}'); }
  JsonWriter& begin_array(bool one_line = false) { return open('[', one_line); }
  JsonWriter& end_array() { return close(']'); }
  JsonWriter& key(std::string_view name);

  JsonWriter& null();
  JsonWriter& value(bool);
  JsonWriter& value(double);
  JsonWriter& value(int v) { return value(static_cast<std::int64_t>(v)); }
  JsonWriter& value(std::int64_t);
  JsonWriter& value(std::uint64_t);
  JsonWriter& value(std::string_view);
  JsonWriter& value(const char* text) { return value(std::string_view(text)); }
  JsonWriter& value(const std::string& text) { return value(std::string_view(text)); }
  JsonWriter& value(const std::optional<double>& v) { return v ? value(*v) : null(); }
  JsonWriter& value(std::span<const double> numbers);

  template <class T>
  JsonWriter& member(std::string_view name, const T& v) {
    key(name);
    return value(v);
  }
  JsonWriter& null_member(std::string_view name) {
    key(name);
    return null();
  }

  /// From here on; 0: all. For curves, where no reader needs the last digits.
  void round_to(int digits) { digits_ = digits; }

  /// The text so far; whole once everything begun is ended.
  std::string take() && { return std::move(text_); }

 private:
  struct Level {
    bool one_line, empty;
  };
  JsonWriter& open(char bracket, bool one_line);
  JsonWriter& close(char bracket);
  JsonWriter& raw(std::string_view);
  void before_element();
  void new_line();

  Style style_;
  int digits_;
  std::string text_;
  std::vector<Level> levels_;
  bool after_key_ = false;
};

/// `text` as a JSON string with its quotes. '<' is written \u003c, so that the text can stand inside
/// a script element of a page.
std::string json_string(std::string_view text);

}  // namespace antiphase
