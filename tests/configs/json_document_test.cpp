#include "configs/json_document.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "configs/text_position.h"
#include "tests/configs/example_files.h"

using namespace antiphase;

namespace {

JsonValue good(const std::string& text) {
  return std::get<JsonDocument>(parse_json(text, "t.json")).root;
}

InputErrors bad(const std::string& text) {
  auto result = parse_json(text, "t.json");
  REQUIRE(std::holds_alternative<InputErrors>(result));
  return std::get<InputErrors>(std::move(result));
}

struct BadText {
  std::string text;
  std::string pointer;
  int line, column;
  std::string description;
};

}  // namespace

TEST_CASE("values and members keep their places") {
  const auto root = good(
      "{\n  \"a\": 1,\n  // a comment, with \"quotes\" and {\n  \"\u00b5\": [true, /* , */ "
      "null,\n\"x\\\"y\"]}");
  CHECK(root.place.line == 1);
  CHECK(root.place.column == 1);
  REQUIRE(root.members.size() == 2);
  CHECK(root.members[0].place.line == 2);
  CHECK(root.members[0].place.column == 3);
  CHECK(root.members[0].value.place.column == 8);
  CHECK(root.members[0].value.number == 1.0);
  CHECK(root.members[1].name == "\u00b5");
  CHECK(root.members[1].place.line == 4);
  const auto& list = root.members[1].value;
  CHECK(list.place.column == 8);
  REQUIRE(list.items.size() == 3);
  CHECK(list.items[0].boolean);
  CHECK(list.items[1].kind == JsonKind::null);
  CHECK(list.items[1].place.column == 23);
  CHECK(list.items[2].text == "x\"y");
  CHECK(list.items[2].place.line == 5);
  CHECK(list.items[2].place.column == 1);
  CHECK(root.find("a") == &root.members[0].value);
  CHECK(root.find("b") == nullptr);
}

TEST_CASE("numbers are the nearest doubles and keep their text") {
  const auto root = good("[0.1, 1e-300, -0, 18446744073709551615, 2.2250738585072014e-308, 0e-999]");
  CHECK(root.items[0].number == 0.1);
  CHECK(root.items[1].number == 1e-300);
  CHECK_FALSE(std::signbit(root.items[2].number));
  CHECK(root.items[3].text == "18446744073709551615");
  CHECK(root.items[4].number == 2.2250738585072014e-308);
  CHECK(root.items[5].number == 0.0);
}

TEST_CASE("a byte order mark and comments are no fault") {
  CHECK(good("\xef\xbb\xbf// first\n{}").place.line == 2);
  CHECK(good("/* a */{}// last").kind == JsonKind::object);
  CHECK(good("[1/*x*/,2//y\n]").items.size() == 2);
}

TEST_CASE("what is wrong with a text is told with its place") {
  const std::string deep(70, '[');
  const std::vector<BadText> table{
      {"", "", 1, 1, "is empty"},
      {" \n\t", "", 2, 2, "is empty"},
      {"{\"a\": 1, \"b\": {\"a\": 2}, \"a\": 3}", "/a", 1, 25, "twice; the first one stands on line 1"},
      {"{\"x\": [0, {\"k\": 1,\n \"k\": 2}]}", "/x/1/k", 2, 2, "twice"},
      {"{\"a\": 1,}", "", 1, 9, "the comma before it is one too many"},
      {"[1,\n 2,\n]", "", 3, 1, "one too many"},
      {"{\"a\" 1}", "", 1, 6, "expected ':'"},
      {"{a: 1}", "", 1, 2, "double quotes"},
      {"{'a': 1}", "", 1, 2, "double quotes"},
      {"{\"a\": 1", "", 1, 8, "unexpected end of input"},
      {"{\"a\": 1} x", "", 1, 10, "double quotes"},
      {"{\"a\": 1} 2", "", 1, 10, "expected end of input"},
      {"[NaN]", "", 1, 2, "double quotes"},
      {"[1e400]", "", 1, 2, "too large a number"},
      {"{\"a\": {\"b\": [0, 1e-400]}}", "/a/b/1", 1, 17, "too large or too small"},
      {"[1,,2]", "", 1, 4, "unexpected ','"},
      {"[01]", "", 1, 3, ""},
      {"[\"a\nb\"]", "", 1, 2, "control character"},
      {"[\"ab", "", 1, 2, "missing closing quote"},
      {"[\"\\x\"]", "", 1, 2, "backslash"},
      {"/* open", "", 1, 1, "comment"},
      {deep, "", 1, 65, "deeper than 64"},
      {"{\"a\": \"\xff\"}", "", 1, 8, "not UTF-8"},
      {"// \xe4\n{}", "", 1, 4, "not UTF-8"},
      {std::string("{}\0", 3), "", 1, 3, "NUL"},
      {"\xff\xfe{\0}\0", "", 1, 1, "UTF-16"},
  };
  for (const auto& row : table) {
    CAPTURE(row.text);
    const auto errors = bad(row.text);
    REQUIRE(errors.list.size() == 1);
    const auto& f = errors.list[0];
    CAPTURE(f.what);
    CHECK(f.file == "t.json");
    CHECK(f.pointer == row.pointer);
    CHECK(f.line == row.line);
    CHECK(f.column == row.column);
    CHECK(f.what.find(row.description) != std::string::npos);
    CHECK_FALSE(errors.unreadable);
  }
}

TEST_CASE("every duplicate of a file is told at once") {
  CHECK(bad("{\"a\":1,\"a\":2,\"b\":3,\"b\":4,\"a\":5}").list.size() == 3);
}

TEST_CASE("a text that is too long or full of faults stays cheap") {
  CHECK(bad(std::string(kMaxBytes + 1, ' ')).list[0].what.find("larger than 1024 KiB") != std::string::npos);
  std::string text = "{";
  for (int i = 0; i < 100'000; ++i) text += "\"a\":1,";
  CHECK(bad(text + "\"a\":1}").list.size() == 101);
}

TEST_CASE("a file that cannot be read is another kind of fault than a wrong one") {
  for (const char* file : {"/no/such/file.json", ANTIPHASE_SOURCE, "/proc/self/mem"}) {
    const auto result = load_json(file);
    CAPTURE(file);
    REQUIRE(std::holds_alternative<InputErrors>(result));
    const auto& errors = std::get<InputErrors>(result);
    CHECK(errors.unreadable);
    REQUIRE(errors.list.size() == 1);
    CHECK(errors.list[0].file == file);
  }
  CHECK(std::get<InputErrors>(load_json("/no/such/file.json")).list[0].what ==
        "cannot be read: No such file or directory");
  CHECK(std::get<InputErrors>(load_json(ANTIPHASE_SOURCE)).list[0].what == "is a folder, not a file");
  // a device without end is cut off and then refused for what it is
  CHECK_FALSE(std::get<InputErrors>(load_json("/dev/zero")).unreadable);
}

// ---- random documents: the writer knows where it put things, the reader has to find out

namespace {

struct Expected {
  JsonKind kind;
  Place place;
};

/// Writes a random document with random white space and comments, noting the place of every value.
class RandomWriter {
 public:
  explicit RandomWriter(unsigned seed) : dice_(seed) {}
  std::string text;
  std::vector<Expected> values;  ///< in the order of the file

  void value(int depth) {
    filler();
    const int kind = pick(depth > 3 ? 4 : 6);
    const auto start = here_;
    switch (kind) {
      case 0:
        return note(JsonKind::null, start), put("null");
      case 1:
        return note(JsonKind::boolean, start), put("false");
      case 2:
        return note(JsonKind::number, start),
               put(std::vector<const char*>{"-1.5e3", "0", "42", "1E-2"}[pick(4)]);
      case 3:
        return note(JsonKind::text, start), put(kTexts[pick(5)]);
      case 4: {
        note(JsonKind::list, start);
        put("[");
        const int count = pick(4);
        for (int i = 0; i < count; ++i) {
          if (i > 0) put(",");
          value(depth + 1);
          filler();
        }
        filler();
        return put("]");
      }
      default: {
        note(JsonKind::object, start);
        put("{");
        const int count = pick(4);
        for (int i = 0; i < count; ++i) {
          if (i > 0) put(",");
          filler();
          put("\"k" + std::to_string(i) + "\u00b5\"");
          filler();
          put(":");
          value(depth + 1);
          filler();
        }
        filler();
        return put("}");
      }
    }
  }

 private:
  static constexpr const char* kTexts[] = {"\"\"", "\"a\\\"b\\\\\"", "\"// no comment\"", "\"\u00b5\u2126\"",
                                           "\"[{,:/*\""};
  static constexpr const char* kFillers[] = {"",   " ",    "\n",          "\r\n",     "\t",
                                             "  ", "/**/", "/* \",{[ */", "// :\"\n", "/* \u00b5\n*/"};
  int pick(int n) { return std::uniform_int_distribution<int>(0, n - 1)(dice_); }
  void note(JsonKind kind, Place place) { values.push_back({kind, place}); }
  void filler() {
    for (int n = pick(3); n > 0; --n) put(kFillers[pick(10)]);
  }
  void put(const std::string& piece) {
    text += piece;
    for (const char c : piece) {
      if (c == '\n')
        here_ = {here_.line + 1, 1};
      else if ((static_cast<unsigned char>(c) & 0xc0) != 0x80)
        ++here_.column;
    }
  }
  std::mt19937 dice_;
  Place here_{1, 1};
};

void flatten(const JsonValue& v, std::vector<Expected>& out) {
  out.push_back({v.kind, v.place});
  for (const auto& item : v.items) flatten(item, out);
  for (const auto& member : v.members) flatten(member.value, out);
}

}  // namespace

TEST_CASE("the place of every value of random documents is found") {
  for (unsigned seed = 0; seed < 2000; ++seed) {
    RandomWriter writer(seed);
    writer.value(0);
    CAPTURE(writer.text);
    std::vector<Expected> found;
    const auto result = parse_json(writer.text, "t");
    REQUIRE(std::holds_alternative<JsonDocument>(result));
    flatten(std::get<JsonDocument>(result).root, found);
    REQUIRE(found.size() == writer.values.size());
    for (std::size_t i = 0; i < found.size(); ++i) {
      REQUIRE(found[i].kind == writer.values[i].kind);
      REQUIRE(found[i].place.line == writer.values[i].place.line);
      REQUIRE(found[i].place.column == writer.values[i].place.column);
    }
  }
}

TEST_CASE("a damaged file is a value or a fault inside the file, never a crash") {
  const std::string original = test::whole_card().dump(1);
  std::mt19937 random(7);
  const auto pick = [&](std::size_t n) {
    return std::uniform_int_distribution<std::size_t>(0, n - 1)(random);
  };
  int refused = 0;
  for (int round = 0; round < 3000; ++round) {
    std::string text = original;
    for (std::size_t n = 1 + pick(3); n > 0; --n) {
      const auto at = pick(text.size());
      switch (pick(4)) {
        case 0:
          text[at] = static_cast<char>(pick(256));
          break;
        case 1:
          text.erase(at, 1 + pick(20));
          break;
        case 2:
          text.insert(at, 1, "{}[]\",:/*0e\\\n"[pick(14)]);
          break;
        default:
          text.insert(at, text.substr(pick(text.size()), pick(30)));
          break;
      }
    }
    const auto result = parse_json(text, "t");
    const bool parsed = std::holds_alternative<JsonDocument>(result);
    // The library alone decides what is JSON; ours is stricter, never laxer.
    if (parsed) CHECK(nlohmann::json::accept(text, true));
    if (parsed) continue;
    ++refused;
    const auto lines = 1 + std::count(text.begin(), text.end(), '\n');
    for (const auto& f : std::get<InputErrors>(result).list) {
      REQUIRE(f.line >= 1);
      REQUIRE(f.line <= lines);
      REQUIRE(f.column >= 1);
      REQUIRE_FALSE(f.what.empty());
    }
  }
  CHECK(refused > 1000);
}
