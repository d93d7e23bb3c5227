#include "configs/input_errors.h"

#include <doctest/doctest.h>

#include "configs/input_error_list.h"

using namespace antiphase;

TEST_CASE("faults are told in the order of the file, one line each") {
  InputErrors errors;
  errors.list = {{"b.json", "/tail/ohm", 9, 3, "third"},
                 {"b.json", "/supply_v", 2, 20, "second"},
                 {"b.json", "/supply_v", 2, 5, "first"},
                 {"a.json", "", 0, 0, "whole file"}};
  CHECK(in_words(errors) ==
        "a.json: whole file\n"
        "b.json:2:5: /supply_v: first\n"
        "b.json:2:20: /supply_v: second\n"
        "b.json:9:3: /tail/ohm: third\n");
}

TEST_CASE("a fault list keeps the first hundred and counts the rest") {
  InputErrorList list("x.json");
  CHECK(list.empty());
  for (int i = 0; i < 150; ++i) list.add("/a", {i + 1, 1}, "wrong");
  const auto errors = list.take();
  REQUIRE(errors.list.size() == 101);
  CHECK(errors.list.back().what == "and 50 more faults");
  CHECK_FALSE(errors.unreadable);
}

TEST_CASE("names with slashes and tildes are escaped in pointers as RFC 6901 says") {
  CHECK(pointer_to("", "a/b") == "/a~1b");
  CHECK(pointer_to("/x", "m~n") == "/x/m~0n");
  CHECK(pointer_to("/x", "a\nb") == "/x/a\\u000ab");
}
