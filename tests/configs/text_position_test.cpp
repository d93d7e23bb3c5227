#include "configs/text_position.h"

#include <doctest/doctest.h>

#include <vector>

using namespace antiphase;

TEST_CASE("columns count characters and a byte order mark counts nothing") {
  const std::string text = "\xef\xbb\xbf\u00b5\u00b5x\r\ny";
  TextPosition position(text);
  CHECK(position.place().column == 1);
  position.advance_to(text.find('x'));
  CHECK(position.place().line == 1);
  CHECK(position.place().column == 3);
  position.advance_to(text.find('y'));
  CHECK(position.place().line == 2);
  CHECK(position.place().column == 1);
  position.advance_to(10'000);
  CHECK(position.offset() == text.size());
}

TEST_CASE("UTF-8 is what table 3-7 of the Unicode Standard says it is") {
  // First and last of each row of the table, and the nearest sequences outside.
  const std::vector<std::string> well_formed{"\x01",
                                             "\x7f",
                                             "\xc2\x80",
                                             "\xdf\xbf",
                                             "\xe0\xa0\x80",
                                             "\xe0\xbf\xbf",
                                             "\xe1\x80\x80",
                                             "\xec\xbf\xbf",
                                             "\xed\x80\x80",
                                             "\xed\x9f\xbf",
                                             "\xee\x80\x80",
                                             "\xef\xbf\xbf",
                                             "\xf0\x90\x80\x80",
                                             "\xf0\xbf\xbf\xbf",
                                             "\xf1\x80\x80\x80",
                                             "\xf3\xbf\xbf\xbf",
                                             "\xf4\x80\x80\x80",
                                             "\xf4\x8f\xbf\xbf",
                                             "",
                                             "abc"};
  const std::vector<std::string> ill_formed{"\x80",
                                            "\xbf",
                                            "\xc0\x80",
                                            "\xc1\xbf",
                                            "\xc2",
                                            "\xc2\x7f",
                                            "\xc2\xc0",
                                            "\xe0\x9f\xbf",
                                            "\xe0\xa0",
                                            "\xed\xa0\x80",
                                            "\xed\xbf\xbf",
                                            "\xe1\x80\x7f",
                                            "\xf0\x8f\xbf\xbf",
                                            "\xf0\x90\x80",
                                            "\xf4\x90\x80\x80",
                                            "\xf5\x80\x80\x80",
                                            "\xff",
                                            "\xfe"};
  for (const auto& bytes : well_formed) CHECK(find_not_utf8(bytes) == std::string::npos);
  for (const auto& bytes : ill_formed) {
    CAPTURE(bytes.size());
    CHECK(find_not_utf8("ok" + bytes) == 2);
    CHECK(find_not_utf8(bytes + "ok") == 0);
  }
}
