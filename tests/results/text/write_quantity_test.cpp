#include "results/text/write_quantity.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

using namespace antiphase;

TEST_CASE("engineering text: prefix, rounding and dropped zeros are those of the trade") {
  // Expectations: steps of a thousand of the SI Brochure, 9th ed., table 7; rounding half away is never met
  // here.
  CHECK(engineering_text(47000, "ohm") == "47 kΩ");
  CHECK(engineering_text(0.00153, "A") == "1.53 mA");
  CHECK(engineering_text(100e-9, "F") == "100 nF");
  CHECK(engineering_text(2.2e-6, "F") == "2.2 µF");
  CHECK(engineering_text(60e-12, "F") == "60 pF");
  CHECK(engineering_text(1e6, "ohm") == "1 MΩ");
  CHECK(engineering_text(320, "V") == "320 V");
  CHECK(engineering_text(-0.6, "V") == "-600 mV");
  CHECK(engineering_text(12346, "ohm", 4) == "12.35 kΩ");
  CHECK(engineering_text(0, "A") == "0 A");
  CHECK(engineering_text(-0.0, "A") == "0 A");
}

TEST_CASE("engineering text: a number that rounds up to a thousand takes the next prefix") {
  CHECK(engineering_text(999.6, "V") == "1 kV");
  CHECK(engineering_text(999.4, "V") == "999 V");
  CHECK(engineering_text(0.9996e-3, "A") == "1 mA");
}

TEST_CASE("engineering text: percent, decibel and pure numbers take no prefix") {
  CHECK(engineering_text(0.418, "%") == "0.418 %");
  CHECK(engineering_text(0.00042, "%") == "0.0004 %");
  CHECK(engineering_text(-0.00000896, "%") == "0 %");
  CHECK(engineering_text(0.47449, "%") == "0.474 %");  // rounded once, not to 0.4745 first
  CHECK(engineering_text(-3.25, "dB") == "-3.25 dB");
  CHECK(engineering_text(35.21, "1") == "35.2");
  CHECK(engineering_text(1234.5, "1") == "1230");
}

TEST_CASE("engineering text: what is no number says so") {
  CHECK(engineering_text(std::nan(""), "V") == "n/a");
  CHECK(engineering_text(std::numeric_limits<double>::infinity(), "V") == "n/a");
  CHECK(significant_text(std::nan(""), 3, 3) == "n/a");
}

TEST_CASE("a signed text shows the sign of positive numbers only") {
  CHECK(signed_engineering_text(0.31, "%") == "+0.31 %");
  CHECK(signed_engineering_text(-0.31, "%") == "-0.31 %");
  CHECK(signed_engineering_text(0, "%") == "0 %");
  CHECK(signed_engineering_text(1e-9, "%") == "0 %");
}

TEST_CASE("significant text keeps its zeros and never uses an exponent") {
  CHECK(significant_text(0.05, 3, 6) == "0.0500");
  CHECK(significant_text(0.05, 3, 3) == "0.050");
  CHECK(significant_text(12.34, 3, 3) == "12.3");
  CHECK(significant_text(123456, 3, 3) == "123456");
  CHECK(significant_text(-0.00001, 3, 3) == "0.000");
  CHECK(significant_text(0, 3, 3) == "0.00");
}

TEST_CASE("a column's prefix follows its largest number") {
  CHECK(prefix_for(48200, "ohm").text == "k");
  CHECK(prefix_for(48200, "ohm").factor == 1e3);
  CHECK(prefix_for(3e-3, "A").text == "m");
  CHECK(prefix_for(12, "%").text == "");
  CHECK(prefix_for(0, "V").factor == 1);
}

TEST_CASE("engineering text drops zeros, carries, and knows which units take prefixes") {
  CHECK(engineering_text(0.00153, "A") == "1.53 mA");
  CHECK(engineering_text(47000, "ohm") == "47 k\u03a9");
  CHECK(engineering_text(2.2e-6, "F") == "2.2 \u00b5F");
  CHECK(engineering_text(60e-12, "F") == "60 pF");
  CHECK(engineering_text(999.6, "ohm") == "1 k\u03a9");
  CHECK(engineering_text(999.4, "ohm") == "999 \u03a9");
  CHECK(engineering_text(0.9996, "V") == "1 V");
  CHECK(engineering_text(-38, "V") == "-38 V");
  CHECK(engineering_text(0, "A") == "0 A");
  CHECK(engineering_text(123456, "ohm", 2) == "120 k\u03a9");
  CHECK(engineering_text(1e12, "ohm") == "1 T\u03a9");
  CHECK(engineering_text(1.5e16, "ohm") == "15000 T\u03a9");
  CHECK(engineering_text(1e-18, "F") == "0.001 fF");
  CHECK(engineering_text(4e77, "ohm") == "4e77 \u03a9");
  CHECK(engineering_text(-1.09e99, "A") == "-1.09e99 A");
  CHECK(engineering_text(5e-300, "F") == "5e-300 F");
  CHECK(engineering_text(0.4241, "%") == "0.424 %");
  CHECK(engineering_text(12345, "%") == "12300 %");
  CHECK(engineering_text(-3.14159, "dB") == "-3.14 dB");
  CHECK(engineering_text(35.21, "1") == "35.2");
  CHECK(engineering_text(0.05, "1") == "0.05");
  CHECK(engineering_text(2e-9, "1") == "2e-9");
  CHECK(engineering_text(std::nan(""), "V") == "n/a");
  CHECK(engineering_text(INFINITY, "V") == "n/a");
}

TEST_CASE("two near numbers do not look the same in a message") {
  CHECK(exactly(2000.4, "V") == "2.0004 kV");
  CHECK(exactly(0.1 + 0.2, "V") == "300 mV");  // 15 digits hide the rounding of the sum
  CHECK(exactly(320, "V") == "320 V");
}

TEST_CASE("a unit of which nobody knows what a prefix would belong to has none") {
  CHECK(engineering_text(12e3, "V^2") == "12000 V^2");
  CHECK(exactly(1e-5, "%") == "0.00001 %");  // a bound in a message, however small
}
