#include "results/text/wording.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("text from a file cannot steer the terminal it is shown on") {
  CHECK(shown("a\x1b[2Jb\n") == "a\\u001b[2Jb\\u000a");
  CHECK(shown("\x7f") == "\\u007f");
  CHECK(shown("\u009b2J") == "\\u009b2J");  // the one-character form of ESC [
  CHECK(shown("2.2 \u00b5F") == "2.2 \u00b5F");
}

TEST_CASE("long text is cut between characters") {
  const std::string micro = "\u00b5";
  std::string text = "x";
  for (int i = 0; i < 50; ++i) text += micro;
  const auto cut = shown(text);
  CHECK(cut.size() < 70);
  CHECK(cut.substr(cut.size() - 3) == "\u2026");
  CHECK((cut.size() - 1 - 3) % micro.size() == 0);
}

TEST_CASE("lists of names read as sentences") {
  CHECK(one_of({"a"}) == "\"a\"");
  CHECK(one_of({"a", "b"}) == "\"a\" or \"b\"");
  CHECK(all_of({"a", "b", "c"}) == "a, b and c");
  CHECK(any_of({"a", "b", "c"}) == "a, b or c");
  CHECK(any_of({}) == "");
  CHECK(joined({"a", "b", "c"}, "; ") == "a; b; c");
  CHECK(joined({}, "; ") == "");
}
