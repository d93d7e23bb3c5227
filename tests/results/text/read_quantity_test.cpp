#include "results/text/read_quantity.h"

#include <doctest/doctest.h>

#include <array>
#include <bit>
#include <clocale>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <random>
#include <vector>

#include "results/text/write_quantity.h"

using namespace antiphase;

namespace {

struct Good {
  const char *text, *unit;
  double value;
};

struct Bad {
  const char *text, *unit;
};

}  // namespace

TEST_CASE("quantities are read as the nearest double to what is written") {
  // The right-hand side is the same decimal read by the compiler, so equality is exact.
  const std::vector<Good> table{
      {"47k", "ohm", 47e3},
      {"4k7", "ohm", 4.7e3},
      {"680", "ohm", 680},
      {"100n", "F", 100e-9},
      {"1.5mA", "A", 1.5e-3},
      {"1.5 mA", "A", 1.5e-3},
      {"2.2\u00b5F", "F", 2.2e-6},
      {"2.2\u03bcF", "F", 2.2e-6},
      {"2.2 uF", "F", 2.2e-6},
      {"2u2", "F", 2.2e-6},
      {"2u2F", "F", 2.2e-6},
      {"2u2 F", "F", 2.2e-6},
      {"1M5", "ohm", 1.5e6},
      {"1M", "ohm", 1e6},
      {"0R47", "ohm", 0.47},
      {"4R7", "ohm", 4.7},
      {"0\u03a947", "ohm", 0.47},
      {"47R", "ohm", 47},
      {"47 \u03a9", "ohm", 47},
      {"47\u2126", "ohm", 47},
      {"47 ohm", "ohm", 47},
      {"47 kohm", "ohm", 47e3},
      {"4K7", "ohm", 4.7e3},
      {"10%", "%", 10},
      {"0.5 %", "%", 0.5},
      {"-6 dB", "dB", -6},
      {"1e-3", "A", 1e-3},
      {"1E+3 V", "V", 1e3},
      {"-38", "V", -38},
      {"-38 V", "V", -38},
      {"\u221238 V", "V", -38},
      {"+5V", "V", 5},
      {"-4k7", "ohm", -4.7e3},
      {".5", "V", 0.5},
      {"  60p ", "F", 60e-12},
      {"1.6\u202fpF", "F", 1.6e-12},
      {"1.25m", "S", 1.25e-3},
      {"3f", "F", 3e-15},
      {"1F", "F", 1},
      {"1T", "ohm", 1e12},
      {"2G2", "ohm", 2.2e9},
      {"50", "1", 50},
      {"1.15", "1", 1.15},
      {"300", "V^2", 300},
      {"300 V^2", "V^2", 300},
      {"0", "V", 0},
      {"0e5", "V", 0},
      {"2.2250738585072014e-308", "V", std::numeric_limits<double>::min()},
  };
  for (const auto& row : table) {
    CAPTURE(row.text);
    const auto value = read_quantity(row.text, row.unit);
    REQUIRE(value);
    CHECK(*value == row.value);
  }
}

TEST_CASE("what is not a quantity of the unit is refused") {
  const std::vector<Bad> table{
      {"", "V"},
      {" ", "V"},
      {"V", "V"},
      {"k", "ohm"},
      {"k47", "ohm"},
      {"R47", "ohm"},
      {"1e3k", "ohm"},
      {"4k7k", "ohm"},
      {"4.7k3", "ohm"},
      {"4k", "%"},
      {"1k", "dB"},
      {"nan", "V"},
      {"NaN", "V"},
      {"inf", "V"},
      {"-inf", "V"},
      {"infinity", "V"},
      {"0x10", "V"},
      {"0x1p4", "V"},
      {"5.", "V"},
      {"1..5", "V"},
      {"1,5", "V"},
      {"1.5.2", "V"},
      {"--5", "V"},
      {"+-5", "V"},
      {"- 5", "V"},
      {"5 5", "V"},
      {"5V5x", "V"},
      {"5V ", "A"},
      {"5 mA", "V"},
      {"5 Vx", "V"},
      {"5kk", "ohm"},
      {"5 k ohm", "ohm"},
      {"5kR", "ohm"},
      {"5R", "V"},
      {"5 ohm", "F"},
      {"1e400", "V"},
      {"1e-400", "V"},
      {"1e99999", "V"},
      {"9e307k", "V"},
      {"1e", "V"},
      {"1e+", "V"},
      {"1 e3", "V"},
      {"5K", "V"},
      {"5m", "V^2"},
      {"10%", "1"},
      {"1_000", "V"},
      {"\u0665", "V"},
      {"5\n", "V"},
      {"5 v", "V"},
      {"5 f", "V^2"},
      {"\xb5", "F"},
      {"2.2\xb5"
       "F",
       "F"},
      {"twelve", "V"},
  };
  for (const auto& row : table) {
    CAPTURE(row.text);
    CHECK_FALSE(read_quantity(row.text, row.unit));
  }
  CHECK_FALSE(read_quantity(std::string(1000, '1'), "V"));
  CHECK_FALSE(read_quantity(std::string_view("5\0", 2), "V"));
}

TEST_CASE("minus nothing is plain zero") {
  CHECK_FALSE(std::signbit(read_quantity("-0", "V").value_or(-1)));
}

TEST_CASE("what engineering notation writes is read back as the same number") {
  // Every decimal of at most 15 digits survives the way through a double (IEEE 754, DBL_DIG = 15).
  std::mt19937_64 random(1);
  std::uniform_int_distribution<long long> digits(1, 999'999'999'999'999);
  std::uniform_int_distribution<int> power(-310, 290);
  for (int k = 0; k < 5000; ++k) {
    const auto text = std::to_string(digits(random)) + "e" + std::to_string(power(random));
    const double value = std::stod(text);
    for (const char* unit : {"ohm", "F", "A", "V", "W", "S", "Hz", "s", "%", "dB", "1"})
      for (const double signed_value : {value, -value}) {
        CAPTURE(text);
        const auto back = read_quantity(exactly(signed_value, unit), unit);
        REQUIRE(back);
        CHECK(*back == signed_value);
      }
  }
}

TEST_CASE("any double at all is read back as the double nearest to its fifteen digits") {
  // Every bit pattern alike, so every size from the smallest to the largest; the C library rounds and reads
  // for comparison.
  std::mt19937_64 random(2);
  int beyond = 0;
  for (int k = 0; k < 20000; ++k) {
    const double value = k == 0 ? std::numeric_limits<double>::max() : std::bit_cast<double>(random());
    if (!std::isfinite(value)) continue;
    std::array<char, 40> text;
    std::snprintf(text.data(), text.size(), "%.14e", value);
    const double nearest = std::strtod(text.data(), nullptr);
    CAPTURE(text.data());
    for (const char* unit : {"ohm", "F", "%", "1"}) {
      const auto back = read_quantity(exactly(value, unit), unit);
      REQUIRE(back.has_value() == std::isfinite(nearest));  // the largest rounds up past what a double holds
      if (back) CHECK(*back == nearest);
    }
    beyond += !std::isfinite(nearest);
  }
  CHECK(beyond == 1);
}

TEST_CASE("a locale with a decimal comma changes nothing") {
  const char* found = nullptr;
  for (const char* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "nl_NL.UTF-8"})
    if (!found) found = std::setlocale(LC_ALL, name);
  if (!found) MESSAGE("this machine has no locale with a decimal comma; checked in the C locale only");
  CHECK(read_quantity("2.5k", "ohm") == 2500.0);
  CHECK_FALSE(read_quantity("2,5k", "ohm"));
  CHECK(engineering_text(2.5, "V") == "2.5 V");
  std::setlocale(LC_ALL, "C");
}

TEST_CASE("the ways of writing that messages suggest can be read") {
  for (const char* unit : {"ohm", "F", "V", "A", "W", "S", "%", "dB", "1"}) {
    const auto examples = quantity_examples(unit);
    std::size_t count = 0;
    for (std::size_t open = examples.find('"'); open != std::string::npos; open = examples.find('"', open)) {
      const auto close = examples.find('"', open + 1);
      CAPTURE(examples);
      CHECK(read_quantity(examples.substr(open + 1, close - open - 1), unit));
      open = close + 1;
      ++count;
    }
    CHECK(count >= 1);
  }
}
