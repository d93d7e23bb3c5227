#include "configs/faults.h"

#include <doctest/doctest.h>

#include "configs/fault_list.h"

using namespace antiphase;

TEST_CASE("faults are told in the order of the file, one line each") {
  Faults faults;
  faults.list = {{"b.json", "/tail/ohm", 9, 3, "third"},
                 {"b.json", "/supply_v", 2, 20, "second"},
                 {"b.json", "/supply_v", 2, 5, "first"},
                 {"a.json", "", 0, 0, "whole file"}};
  CHECK(in_words(faults) ==
        "a.json: whole file\n"
        "b.json:2:5: /supply_v: first\n"
        "b.json:2:20: /supply_v: second\n"
        "b.json:9:3: /tail/ohm: third\n");
}

TEST_CASE("a fault list keeps the first hundred and counts the rest") {
  FaultList list("x.json");
  CHECK(list.empty());
  for (int i = 0; i < 150; ++i) list.add("/a", {i + 1, 1}, "wrong");
  const auto faults = list.take();
  REQUIRE(faults.list.size() == 101);
  CHECK(faults.list.back().what == "and 50 more faults");
  CHECK_FALSE(faults.unreadable);
}

TEST_CASE("names with slashes and tildes are escaped in pointers as RFC 6901 says") {
  CHECK(pointer_to("", "a/b") == "/a~1b");
  CHECK(pointer_to("/x", "m~n") == "/x/m~0n");
  CHECK(pointer_to("/x", "a\nb") == "/x/a\\u000ab");
}
