#include "configs/json_document.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <unordered_map>

#include "configs/input_error_list.h"
#include "configs/read_bytes.h"
#include "configs/text_position.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

std::string syntax_error_words(std::string words, const std::string& bytes, std::size_t place) {
  // "[json.exception.parse_error.101] parse error at line 3, column 15: syntax error while parsing value -
  // unexpected ..."
  if (const auto dash = words.find(" - "); dash != words.npos) words.erase(0, dash + 3);
  if (const auto last_read = words.find("; last read: "); last_read != words.npos) words.erase(last_read);
  if (words.rfind("invalid literal", 0) == 0) words = "this is no value: text stands in double quotes";
  auto before = bytes.find_last_not_of(" \t\r\n", place == 0 ? 0 : place - 1);
  if (place > 0 && before != bytes.npos && bytes[before] == ',' && place < bytes.size() &&
      (bytes[place] == '}' || bytes[place] == ']'))
    words += " (the comma before it is one too many)";
  return "is not JSON: " + words;
}

/// Builds the tree. The parser checks the grammar; the walker knows where its tokens stand.
class TreeBuilder : public nlohmann::json_sax<nlohmann::json> {
 public:
  TreeBuilder(const std::string& bytes, JsonValue& root, InputErrorList& errors)
      : bytes_(bytes), walker_(bytes), root_(root), errors_(errors) {}

  bool null() override {
    next(JsonKind::null);
    return true;
  }
  bool boolean(bool value) override {
    auto& v = next(JsonKind::boolean);
    v.boolean = value;
    return true;
  }
  bool number_integer(number_integer_t) override { return number(); }
  bool number_unsigned(number_unsigned_t) override { return number(); }
  bool number_float(number_float_t, const string_t&) override { return number(); }
  bool string(string_t& value) override {
    next(JsonKind::text).text = std::move(value);
    return true;
  }
  bool binary(binary_t&) override { return false; }  // never comes from text
  bool start_object(std::size_t) override { return open(JsonKind::object); }
  bool start_array(std::size_t) override { return open(JsonKind::list); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& name) override {
    walker_.skip_filler();
    const auto place = walker_.place();
    walker_.skip_token();
    auto& object = *open_.back().value;
    const auto [it, fresh] = open_.back().names.emplace(name, place.line);
    if (!fresh)
      errors_.add(pointer_to(pointer(open_.size() - 1), name), place,
                  "is given twice; the first one stands on line " + std::to_string(it->second));
    object.members.push_back({std::move(name), place, {}});
    return true;
  }

  bool parse_error(std::size_t chars_read, const std::string& token,
                   const nlohmann::json::exception& error) override {
    // The bad token follows the last good one and ends where the parser stopped reading.
    walker_.skip_filler();
    const auto last_read = std::min(chars_read, bytes_.size() + 1) - 1;
    const auto at = std::min(walker_.offset(), last_read);
    TextPosition position(bytes_);
    position.advance_to(at);
    if (error.id == 406)  // the library's "number overflow"
      errors_.add("", position.place(), shown(token) + " is too large a number");
    else
      errors_.add("", position.place(), syntax_error_words(error.what(), bytes_, at));
    return false;
  }

 private:
  struct Open {
    JsonValue* value;  // stays where it is: nothing is added to its parent while it is open
    std::unordered_map<std::string, int> names;
  };

  /// The place in the tree for the value whose token comes next, which is passed over.
  JsonValue& next(JsonKind kind) {
    JsonValue* slot = &root_;
    if (!open_.empty()) {
      auto& parent = *open_.back().value;
      slot = parent.kind == JsonKind::list ? &parent.items.emplace_back() : &parent.members.back().value;
    }
    walker_.skip_filler();
    slot->kind = kind;
    slot->place = walker_.place();
    token_ = walker_.offset();
    walker_.skip_token();
    return *slot;
  }

  bool open(JsonKind kind) {
    auto& value = next(kind);
    if (static_cast<int>(open_.size()) >= kMaxDepth) {
      errors_.add("", value.place, "is nested deeper than " + std::to_string(kMaxDepth) + " levels");
      return false;
    }
    open_.push_back({&value, {}});
    return true;
  }

  bool close() {
    walker_.skip_filler();
    walker_.skip_token();
    open_.pop_back();
    return true;
  }

  /// Read from the text, so that the result is the nearest double whatever the locale.
  bool number() {
    auto& v = next(JsonKind::number);
    v.text = bytes_.substr(token_, walker_.offset() - token_);
    const auto [end, error] = std::from_chars(v.text.data(), v.text.data() + v.text.size(), v.number);
    const bool zero = v.text.find_first_of("123456789") >= v.text.find_first_of("eE");
    if (error != std::errc{} || !std::isfinite(v.number) || (v.number == 0 && !zero)) {
      errors_.add(pointer(open_.size()), v.place, shown(v.text) + " is too large or too small a number");
      v.number = 0;
    }
    v.number += 0.0;  // "-0" is 0
    return true;
  }

  /// JSON pointer made of the newest child of each of the first `levels` open values.
  std::string pointer(std::size_t levels) const {
    std::string path;
    for (std::size_t i = 0; i < levels; ++i) {
      const auto& v = *open_[i].value;
      path = pointer_to(
          path, v.kind == JsonKind::list ? std::to_string(v.items.size() - 1) : v.members.back().name);
    }
    return path;
  }

  const std::string& bytes_;
  TextPosition walker_;
  JsonValue& root_;
  InputErrorList& errors_;
  std::vector<Open> open_;
  std::size_t token_ = 0;
};

/// InputErrors of the bytes themselves, before anything is parsed.
void check_bytes(const std::string& bytes, InputErrorList& errors) {
  const auto first_two = bytes.substr(0, 2);
  if (first_two == "\xff\xfe" || first_two == "\xfe\xff")
    return errors.add("", {1, 1}, "is UTF-16 text; save it as UTF-8");
  TextPosition position(bytes);
  const auto add = [&](std::size_t at, const char* what) {
    position.advance_to(at);
    errors.add("", position.place(), what);
  };
  if (const auto bad = find_not_utf8(bytes); bad != std::string::npos)
    return add(bad, "is not UTF-8 text from here on; save it as UTF-8");
  if (const auto nul = bytes.find('\0'); nul != std::string::npos)
    return add(nul, "holds a NUL character; this is no text file");
  if (bytes.find_first_not_of(" \t\r\n", byte_order_mark(bytes)) == std::string::npos)
    add(bytes.size(), "is empty");
}

}  // namespace

std::string_view name_of(JsonKind kind) {
  switch (kind) {
    case JsonKind::null:
      return "null";
    case JsonKind::boolean:
      return "true or false";
    case JsonKind::number:
      return "a number";
    case JsonKind::text:
      return "text";
    case JsonKind::list:
      return "a list";
    case JsonKind::object:
      return "an object";
  }
  return "";
}

const JsonValue* JsonValue::find(std::string_view name) const {
  const auto it =
      std::find_if(members.begin(), members.end(), [&](const JsonMember& m) { return m.name == name; });
  return it == members.end() ? nullptr : &it->value;
}

OrErrors<JsonDocument> parse_json(std::string bytes, const std::string& file) {
  JsonDocument document{file, std::move(bytes), {}};
  InputErrorList errors(file);
  if (document.bytes.size() > kMaxBytes)
    errors.add("", {},
               "is larger than " + std::to_string(kMaxBytes / 1024) + " KiB; this is none of our files");
  else
    check_bytes(document.bytes, errors);
  if (errors.empty()) {
    TreeBuilder builder(document.bytes, document.root, errors);
    nlohmann::json::sax_parse(document.bytes, &builder, nlohmann::json::input_format_t::json, true,
                              /*ignore_comments=*/true);
  }
  if (!errors.empty()) return errors.take();
  return document;
}

OrErrors<JsonDocument> load_json(const std::string& file) {
  auto bytes = read_bytes(file, kMaxBytes);
  if (auto* errors = std::get_if<InputErrors>(&bytes)) return std::move(*errors);
  return parse_json(std::move(std::get<std::string>(bytes)), file);
}

}  // namespace antiphase
