#include "configs/read_variables.h"

#include <doctest/doctest.h>

using namespace antiphase;

namespace {

constexpr NumberRule kVolt{"V", 1, 2000};

Range good(const std::string& text) {
  const auto document = std::get<JsonDocument>(parse_json(text, "t"));
  InputErrorList errors("t");
  const auto range = read_range(Cursor(document.root, "", errors), kVolt);
  REQUIRE(range);
  CHECK(errors.empty());
  return *range;
}

std::string bad(const std::string& text) {
  const auto document = std::get<JsonDocument>(parse_json(text, "t"));
  InputErrorList errors("t");
  CHECK_FALSE(read_range(Cursor(document.root, "", errors), kVolt));
  return in_words(errors.take());
}

}  // namespace

TEST_CASE("a variable is one value, a range, a range with a step, or a list") {
  CHECK(good("300").fixed());
  CHECK(good("\"0.3k\"").low == 300.0);
  const auto range = good("{\"from\": 300, \"to\": \"0.4k\"}");
  CHECK(range.low == 300.0);
  CHECK(range.high == 400.0);
  CHECK(range.step == 0.0);
  CHECK(range.values.empty());
  CHECK(good("{\"from\": 300, \"to\": 400, \"step\": 10}").step == 10.0);
  CHECK(good("{\"from\": 300, \"to\": 400, \"step\": 100}").step == 100.0);
  const auto list = good("[400, \"300 V\", 350]");
  CHECK(list.values == std::vector{300.0, 350.0, 400.0});
  CHECK(list.low == 300.0);
  CHECK(list.high == 400.0);
  CHECK(good("[300]").fixed());
}

TEST_CASE("a range that is empty, backwards, or cut too fine is refused with what is wrong") {
  CHECK(bad("{\"from\": 300, \"to\": 300}") == "t:1:1: is one value only; write it as a plain number\n");
  CHECK(bad("{\"from\": 400, \"to\": 300}") == "t:1:1: runs backwards, from 400 V to 300 V\n");
  CHECK(bad("{\"from\": 300, \"to\": 400, \"step\": 0}") ==
        "t:1:34: /step: must be above 0 V and at most 2 kV, is 0 V\n");
  CHECK(bad("{\"from\": 300, \"to\": 400, \"step\": 101}") ==
        "t:1:34: /step: must be at most the width of the range, 100 V, is 101 V\n");
  CHECK(bad("{\"from\": 300, \"to\": 400, \"step\": \"1m\"}") ==
        "t:1:34: /step: makes more than 10000 steps\n");
  CHECK(bad("{\"from\": 0, \"to\": 400}") == "t:1:10: /from: must be from 1 V to 2 kV, is 0 V\n");
  CHECK(bad("{\"low\": 1, \"to\": 400}") ==
        "t:1:1: /from: is missing: the lower end\nt:1:2: /low: is not a known member here\n");
  CHECK(bad("[]") == "t:1:1: must not be empty\n");
  CHECK(bad("[300, 0, \"0.3k\"]") ==
        "t:1:7: /1: must be from 1 V to 2 kV, is 0 V\nt:1:10: /2: stands in the list twice: 300 V\n");
  CHECK(bad("null") == "t:1:1: must be a number in V such as 300, \"0.3k\" or \"300 V\", is null\n");
}
