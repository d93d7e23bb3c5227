#include "results/text/lines.h"

#include <doctest/doctest.h>

using namespace antiphase;

TEST_CASE("width counts columns, not bytes") {
  CHECK(display_width("47 kΩ") == 5);
  CHECK(display_width("2.2 µF") == 6);
  CHECK(display_width("e\u0301") == 1);  // combining acute: no column of its own
  CHECK(display_width("真空管") == 6);   // wide in UAX #11
  CHECK(display_width("") == 0);
}

TEST_CASE("padding fills up to the width and never cuts") {
  CHECK(padded_left("kΩ", 4) == "  kΩ");
  CHECK(padded_right("kΩ", 4) == "kΩ  ");
  CHECK(padded_left("12345", 3) == "12345");
}

TEST_CASE("text from a file cannot steer the terminal") {
  CHECK(printable("a\x1b[31mb") == "a [31mb");
  CHECK(printable("a\tb\nc") == "a b c");
  CHECK(printable("a\nb", true) == "a\nb");
  CHECK(printable("a\xc2\x9b"
                  "b") == "a b");  // C1: control sequence introducer
  CHECK(printable("a\xff\xc0\xaf"
                  "b") == "a???b");  // not UTF-8; overlong '/'
  // Trojan Source (Boucher, Anderson 2023): a right-to-left override and an isolate, a line separator
  CHECK(printable("a\xe2\x80\xae"
                  "b\xe2\x81\xa6"
                  "c\xe2\x80\xa8"
                  "d") == "a b c d");
  CHECK(printable("47 kΩ") == "47 kΩ");
}

TEST_CASE("wrapping breaks at spaces within the width and indents what follows") {
  CHECK(wrapped("one two three", 7) == "one two\nthree\n");
  CHECK(wrapped("one two three", 7, 2) == "one two\n  three\n");
  CHECK(wrapped("incomprehensible x", 5) == "incomprehensible\nx\n");
  CHECK(wrapped("", 5) == "\n");
}

TEST_CASE("wrapping keeps a number and its unit together") {
  CHECK(wrapped("at 320 V: go", 6) == "at\n320 V:\ngo\n");
  CHECK(wrapped("of 47 kΩ, or", 6) == "of\n47 kΩ,\nor\n");
  CHECK(wrapped("is ≤ 600 mV", 8) == "is\n≤ 600 mV\n");
  CHECK(wrapped("4 Volts", 5) == "4\nVolts\n");  // no unit sign: an ordinary word
}
