#include "configs/nearest_names.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("edit distance counts additions, losses, changes and swapped neighbours") {
  CHECK(edit_distance("kitten", "sitting") == 3);  // the usual textbook pair
  CHECK(edit_distance("", "abc") == 3);
  CHECK(edit_distance("abc", "") == 3);
  CHECK(edit_distance("gian", "gain") == 1);
  CHECK(edit_distance("ca", "abc") == 3);  // Boytsov 2011: 3 in the restricted distance, 2 in the full one
  CHECK(edit_distance("ECC83", "ecc83") == 0);
}

TEST_CASE("near names come nearest first and far ones not at all") {
  using Names = std::vector<std::string>;
  CHECK(nearest_names("suply_v", {"tail", "supply_v", "load"}, 2) == Names{"supply_v"});
  CHECK(nearest_names("12AX8", {"12AU7", "12AX7", "6SN7GT"}, 3) == Names{"12AX7"});
  CHECK(nearest_names("12AY8", {"12AU7", "12AX7", "12AY7"}, 1) == Names{"12AY7"});
  CHECK(nearest_names("suply_v", {"supply_v", "tail", "supply_v"}, 2) == Names{"supply_v"});  // each once
  CHECK(nearest_names("EL34", {"12AU7", "12AX7"}, 3).empty());
  CHECK(nearest_names("", {"a", "b"}, 3).empty());
  CHECK(nearest_names(std::string(100'000, 'x'), {"a", "b"}, 3).empty());
}

TEST_CASE("a name cut short is recognised") {
  CHECK(nearest_names("distortion", {"gain", "distortion_pct"}, 1) ==
        std::vector<std::string>{"distortion_pct"});
}

TEST_CASE("the question names what may have been meant") {
  CHECK(did_you_mean({}) == "");
  CHECK(did_you_mean({"a"}) == "; did you mean \"a\"?");
  CHECK(did_you_mean({"a", "b", "c"}) == "; did you mean \"a\", \"b\" or \"c\"?");
}
