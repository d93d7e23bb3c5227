/// A JSON file with the line and column of everything in it.
///
/// Comments (// and /* */) and a UTF-8 byte order mark are allowed; a name given twice in one
/// object, nesting deeper than kMaxDepth, more than kMaxBytes, text that is not UTF-8, and numbers
/// that a double cannot hold are errors.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "configs/input_errors.h"

namespace antiphase {

struct Place {
  int line = 0, column = 0;  ///< from 1, column in characters; 0: not known
};

enum class JsonKind { null, boolean, number, text, list, object };

/// "a number", "an object", ...
std::string_view name_of(JsonKind);

struct JsonMember;

struct JsonValue {
  JsonKind kind = JsonKind::null;
  Place place;  ///< of its first character
  bool boolean = false;
  double number = 0;                ///< finite
  std::string text;                 ///< of a text; of a number as it is written
  std::vector<JsonValue> items;     ///< of a list
  std::vector<JsonMember> members;  ///< of an object, in the order of the file

  const JsonValue* find(std::string_view name) const;  ///< null if there is no such member
};

struct JsonMember {
  std::string name;
  Place place;  ///< of the name
  JsonValue value;
};

struct JsonDocument {
  std::string file;   ///< as it was called
  std::string bytes;  ///< the whole file
  JsonValue root;
};

inline constexpr int kMaxDepth = 64;               ///< files of this program need 5
inline constexpr std::size_t kMaxBytes = 1 << 20;  ///< a brief has about 1 kB, a card 10 kB

/// Reads a whole file. Failure: `unreadable` is set where it is missing, a folder, or may not be read.
OrErrors<JsonDocument> load_json(const std::string& file);

/// Parses `bytes`; `file` is only a name for messages.
OrErrors<JsonDocument> parse_json(std::string bytes, const std::string& file);

}  // namespace antiphase
