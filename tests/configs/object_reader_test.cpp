#include "configs/object_reader.h"

#include <doctest/doctest.h>

using namespace antiphase;

namespace {

/// Runs `read` on the parsed text and gives the errors in words.
template <class Read>
std::string errors_of(const std::string& text, Read&& read) {
  const auto document = std::get<JsonDocument>(parse_json(text, "t"));
  InputErrorList errors("t");
  read(Cursor(document.root, "", errors));
  return errors.empty() ? "" : in_words(errors.take());
}

}  // namespace

TEST_CASE("slips of people who write part values are named: comma, unit of another kind, forgotten prefix") {
  const auto words = [](const std::string& text, const NumberRule& rule) {
    return errors_of(text, [&](const Cursor& c) { CHECK_FALSE(c.number(rule)); });
  };
  const auto good = [](const std::string& text, const NumberRule& rule, double value) {
    return errors_of(text, [&](const Cursor& c) { CHECK(c.number(rule) == value); }).empty();
  };
  CHECK(words("\"4,7k\"", {"ohm"}) == "t:1:1: \"4,7k\" has a decimal comma; write \"4.7k\"\n");
  CHECK(words("\"5V\"", {"A"}) ==
        "t:1:1: \"5V\" is a voltage, where a current in A is meant: write 0.0015, \"1.5m\" or \"1.5 mA\"\n");
  CHECK(words("\"3k\"", {"%"}).find("resistance") == std::string::npos);  // no unit is no wrong unit
  CHECK(words("\"2 mA\"", {"1"}) == "t:1:1: \"2 mA\" is a current, where a number without a unit is meant\n");
  CHECK(words("5", {"A", 1e-6, 1}) ==
        "t:1:1: must be from 1 \u00b5A to 1 A, is 5 A; did you mean \"5m\" or \"5u\"?\n");
  CHECK(words("\"5 A\"", {"A", 1e-6, 1}) == "t:1:1: must be from 1 \u00b5A to 1 A, is 5 A\n");
  NumberRule plate{"ohm", 1, 100e6};
  plate.usual_low = 500;
  CHECK(words("22", plate) ==
        "t:1:1: is 22 \u03a9, which nobody builds here; did you mean \"22k\" or \"22M\"? "
        "Write \"22 ohm\" if it is meant\n");
  CHECK(words("\"100\"", plate).find("\"100k\"") != std::string::npos);
  CHECK(good("\"22 ohm\"", plate, 22));  // said with its unit it is no slip
  CHECK(good("\"22R\"", plate, 22));
  CHECK(good("560", plate, 560));
  CHECK(words("\"fill in\"", {"V"}).starts_with("t:1:1: is still to be filled in: a number in V"));
}

TEST_CASE("a number may be plain or written with a prefix, and is held against its range") {
  const NumberRule volt{"V", 1, 2000};
  CHECK(errors_of("300", [&](const Cursor& c) { CHECK(c.number(volt) == 300.0); }) == "");
  CHECK(errors_of("\"0.3k\"", [&](const Cursor& c) { CHECK(c.number(volt) == 300.0); }) == "");
  CHECK(errors_of("1", [&](const Cursor& c) { CHECK(c.number(volt) == 1.0); }) == "");
  CHECK(errors_of("2000", [&](const Cursor& c) { CHECK(c.number(volt) == 2000.0); }) == "");
  const auto words = [&](const std::string& text, const NumberRule& rule) {
    return errors_of(text, [&](const Cursor& c) { CHECK_FALSE(c.number(rule)); });
  };
  CHECK(words("-5", volt) == "t:1:1: must be from 1 V to 2 kV, is -5 V\n");
  CHECK(words("2000.4", volt) == "t:1:1: must be from 1 V to 2 kV, is 2.0004 kV\n");
  CHECK(words("\"47x\"", {"ohm"}) ==
        "t:1:1: must be a number in ohm such as 47000, \"47k\" or \"47 k\u03a9\", is \"47x\"\n");
  CHECK(words("\"1,5m\"", {"A"}) == "t:1:1: \"1,5m\" has a decimal comma; write \"1.5m\"\n");
  CHECK(words("true", volt) ==
        "t:1:1: must be a number in V such as 300, \"0.3k\" or \"300 V\", is true or false\n");
  CHECK(words("null", {"1"}) == "t:1:1: must be a number such as 1.5, is null\n");
  CHECK(words("0", {"A", 0, 1, true}) == "t:1:1: must be above 0 A and at most 1 A, is 0 A\n");
  CHECK(words("1", {"1", 0, 1, true, true}) == "t:1:1: must be above 0 and below 1, is 1\n");
  const double none = std::numeric_limits<double>::infinity();
  CHECK(words("-1", {"%", 0, none}) == "t:1:1: must be at least 0 %, is -1 %\n");
  CHECK(words("3", {"dB", -none, 2}) == "t:1:1: must be at most 2 dB, is 3 dB\n");
}

TEST_CASE("a choice of two is true or false, not a word or a number for it") {
  CHECK(errors_of("true", [](const Cursor& c) { CHECK(c.boolean() == true); }) == "");
  CHECK(errors_of("false", [](const Cursor& c) { CHECK(c.boolean() == false); }) == "");
  for (const char* text : {"1", "\"true\"", "null", "[]"}) {
    CAPTURE(text);
    const auto words = errors_of(text, [](const Cursor& c) { CHECK_FALSE(c.boolean()); });
    CHECK(words.find("t:1:1: must be true or false, is ") == 0);
  }
}

TEST_CASE("whole numbers have no fraction, no sign and no prefix") {
  CHECK(errors_of("18446744073709551615", [](const Cursor& c) {
          CHECK(c.whole_number(0, ~std::uint64_t{0}) == 18446744073709551615u);
        }) == "");
  for (const char* text : {"3.9", "-1", "1e2", "101", "0", "\"5\"", "18446744073709551616", "null"}) {
    CAPTURE(text);
    const auto words = errors_of(text, [](const Cursor& c) { CHECK_FALSE(c.whole_number(1, 100)); });
    CHECK(words.find("must be a whole number from 1 to 100, is ") != std::string::npos);
  }
}

TEST_CASE("members that nobody asked for are faults, with the names that may have been meant") {
  CHECK(errors_of("{\"supply_v\": 1, \"laod\": 2, \"xyzzy\": 3}",
                  [](const Cursor& c) {
                    ObjectReader in(c);
                    in.number("supply_v", {"V"});
                    in.number("load", {"ohm"});
                  }) ==
        "t:1:17: /laod: is not a known member here; did you mean \"load\"?\n"
        "t:1:28: /xyzzy: is not a known member here\n");
}

TEST_CASE("a name that stands there already is not suggested") {
  CHECK(errors_of("{\"supply_v\": 1, \"suply_v\": 2}", [](const Cursor& c) {
          ObjectReader(c).number("supply_v", {"V"});
        }) == "t:1:17: /suply_v: is not a known member here\n");
}

TEST_CASE("what is missing is told at the object, with what it is") {
  CHECK(errors_of("\n {}", [](const Cursor& c) {
          ObjectReader in(c);
          CHECK_FALSE(in.required_number("supply_v", "the supply", {"V"}));
          CHECK_FALSE(in.number("load", {"ohm"}));
        }) == "t:2:2: /supply_v: is missing: the supply\n");
}

TEST_CASE("where an object is expected, anything else is one fault") {
  CHECK(errors_of("[1]", [](const Cursor& c) {
          ObjectReader in(c);
          CHECK_FALSE(in.is_object());
          CHECK_FALSE(in.required_number("a", "a", {"V"}));
        }) == "t:1:1: must be an object {}, is a list\n");
}

TEST_CASE("all faults of a file are gathered") {
  const auto words =
      errors_of("{\"a\": -1, \"b\": \"\", \"c\": [], \"d\": \"z\", \"e\": 1}", [](const Cursor& c) {
        ObjectReader in(c);
        in.number("a", {"V", 0, 1});
        in.text("b");
        in.find("c")->items(1, 3);
        in.find("d")->choice({"x", "y"});
      });
  CHECK(words ==
        "t:1:7: /a: must be from 0 V to 1 V, is -1 V\n"
        "t:1:16: /b: must not be empty\n"
        "t:1:25: /c: must not be empty\n"
        "t:1:34: /d: must be \"x\" or \"y\", is \"z\"; did you mean \"x\"?\n"
        "t:1:39: /e: is not a known member here\n");
}

TEST_CASE("a choice names all that may be chosen") {
  CHECK(errors_of("\"resistr\"",
                  [](const Cursor& c) {
                    c.choice({"resistor", "constant_current"});
                  }) ==
        "t:1:1: must be \"resistor\" or \"constant_current\", is \"resistr\"; did you mean \"resistor\"?\n");
  CHECK(errors_of("3", [](const Cursor& c) { c.choice({"resistor"}); }) ==
        "t:1:1: must be \"resistor\", is 3\n");
}

TEST_CASE("texts may be one or a list of them") {
  CHECK(errors_of("{\"n\": \"one\", \"m\": [\"a\", \"b\"]}", [](const Cursor& c) {
          ObjectReader in(c);
          CHECK(in.texts("n") == std::vector<std::string>{"one"});
          CHECK(in.texts("m") == std::vector<std::string>{"a", "b"});
          CHECK(in.texts("o").empty());
        }) == "");
  CHECK(errors_of("{\"n\": [\"a\", 1]}", [](const Cursor& c) { ObjectReader(c).texts("n"); }) ==
        "t:1:13: /n/1: must be text, is 1\n");
}
