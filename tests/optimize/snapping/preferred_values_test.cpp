// Published lists: IEC 60063:2015 (E3 ... E24, E48, E96). For E192 the standard's rule with its one
// departure is written out a second time here, with integers.
#include "optimize/engine/snapping/preferred_values.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <set>
#include <string>

#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;

namespace {

constexpr std::array kAll{Series::e3,  Series::e6,  Series::e12, Series::e24,
                          Series::e48, Series::e96, Series::e192};

const std::vector<int> kE3{100, 220, 470};
const std::vector<int> kE6{100, 150, 220, 330, 470, 680};
const std::vector<int> kE12{100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820};
const std::vector<int> kE24{100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300,
                            330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910};
const std::vector<int> kE48{100, 105, 110, 115, 121, 127, 133, 140, 147, 154, 162, 169, 178, 187, 196, 205,
                            215, 226, 237, 249, 261, 274, 287, 301, 316, 332, 348, 365, 383, 402, 422, 442,
                            464, 487, 511, 536, 562, 590, 619, 649, 681, 715, 750, 787, 825, 866, 909, 953};
const std::vector<int> kE96Only{102, 107, 113, 118, 124, 130, 137, 143, 150, 158, 165, 174,
                                182, 191, 200, 210, 221, 232, 243, 255, 267, 280, 294, 309,
                                324, 340, 357, 374, 392, 412, 432, 453, 475, 499, 523, 549,
                                576, 604, 634, 665, 698, 732, 768, 806, 845, 887, 931, 976};

std::vector<int> digits(Series series) {
  std::vector<int> d;
  for (const double s : significands(series)) d.push_back(static_cast<int>(std::lround(s * 100)));
  return d;
}

bool subset(const std::vector<int>& inner, const std::vector<int>& outer) {
  return std::includes(outer.begin(), outer.end(), inner.begin(), inner.end());
}

double worst_gap_ratio(Series series) {
  const auto s = significands(series);
  double worst = 10 / s.back();
  for (std::size_t i = 1; i < s.size(); ++i) worst = std::max(worst, s[i] / s[i - 1]);
  return worst;
}

}  // namespace

TEST_CASE("E3 to E48 are the published lists") {
  CHECK(digits(Series::e3) == kE3);
  CHECK(digits(Series::e6) == kE6);
  CHECK(digits(Series::e12) == kE12);
  CHECK(digits(Series::e24) == kE24);
  CHECK(digits(Series::e48) == kE48);
}

TEST_CASE("E96 is E48 with the 48 published values between") {
  std::vector<int> e96 = kE48;
  e96.insert(e96.end(), kE96Only.begin(), kE96Only.end());
  std::sort(e96.begin(), e96.end());
  CHECK(digits(Series::e96) == e96);
}

TEST_CASE("E192 follows the rounding rule at every index but 185, where it is 9.20") {
  const std::vector<int> e192 = digits(Series::e192);
  REQUIRE(e192.size() == 192);
  for (int i = 0; i < 192; ++i) {
    // Rounding by comparison in long double: d - 1/2 <= 100 * 10^(i/192) < d + 1/2.
    const long double exact = 100 * std::pow(10.0L, static_cast<long double>(i) / 192);
    if (i == 185) {
      CHECK(e192[i] == 920);
      CHECK(exact < 919.5L);  // so the rule would have given 919
    } else {
      CHECK(std::abs(exact - e192[i]) < 0.5L);
    }
  }
}

TEST_CASE("E24 departs from the rounding rule at exactly the eight historic places") {
  // i and value: 10 to 16 give 2.7 3.0 3.3 3.6 3.9 4.3 4.7, and 22 gives 8.2 (IEC 60063).
  const std::vector<std::pair<int, int>> want{{10, 270}, {11, 300}, {12, 330}, {13, 360},
                                              {14, 390}, {15, 430}, {16, 470}, {22, 820}};
  std::vector<std::pair<int, int>> got;
  const std::vector<int> e24 = digits(Series::e24);
  for (int i = 0; i < 24; ++i) {
    const int by_rule = 10 * static_cast<int>(std::lround(10 * std::pow(10.0, i / 24.0)));
    if (by_rule != e24[i]) got.emplace_back(i, e24[i]);
  }
  CHECK(got == want);
}

TEST_CASE("the coarse series nest, the fine series nest, and E24 is not inside E192") {
  CHECK(subset(kE3, kE6));
  CHECK(subset(digits(Series::e6), digits(Series::e12)));
  CHECK(subset(digits(Series::e12), digits(Series::e24)));
  CHECK(subset(digits(Series::e48), digits(Series::e96)));
  CHECK(subset(digits(Series::e96), digits(Series::e192)));
  const std::vector<int> e24 = digits(Series::e24), e96 = digits(Series::e96), e192 = digits(Series::e192);
  std::vector<int> missing, common;
  std::set_difference(e24.begin(), e24.end(), e192.begin(), e192.end(), std::back_inserter(missing));
  CHECK(missing == std::vector<int>{220, 270, 300, 330, 360, 390, 430, 510, 560, 620, 680, 820, 910});
  std::set_intersection(e24.begin(), e24.end(), e96.begin(), e96.end(), std::back_inserter(common));
  CHECK(common == std::vector<int>{100, 110, 130, 150, 200, 750});
}

TEST_CASE("the widest gap of each series is the published one") {
  // 2.2/1.0, 1.5/1.0, 2.7/2.2 ..., to the digits in which they are usually given; derived from the lists.
  CHECK(within(worst_gap_ratio(Series::e3), 2.2, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e6), 1.5, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e12), 1.25, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e24), 1.154, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e48), 1.053, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e96), 1.030, 0.0005));
  CHECK(within(worst_gap_ratio(Series::e192), 1.020, 0.0005));
}

TEST_CASE("names go both ways and a wrong name gives nothing") {
  for (const Series s : kAll) CHECK(series_named(name_of(s)) == s);
  CHECK(series_named("e24") == Series::e24);
  CHECK_FALSE(series_named("E25"));
  CHECK_FALSE(series_named(""));
  CHECK_FALSE(series_named("24"));
  CHECK_FALSE(series_named("E24 "));
}

TEST_CASE("members are the doubles one would type") {
  CHECK(nearest(Series::e24, 4700) == 4700.0);
  CHECK(nearest(Series::e24, 4.7e-9) == 4.7e-9);
  CHECK(nearest(Series::e24, 8.2e-12) == 8.2e-12);
  CHECK(nearest(Series::e96, 1.02e6) == 1.02e6);
  CHECK(nearest(Series::e3, 0.47) == 0.47);
  CHECK(members(Series::e12, 1e-9, 1e-8) == std::vector{1e-9, 1.2e-9, 1.5e-9, 1.8e-9, 2.2e-9, 2.7e-9, 3.3e-9,
                                                        3.9e-9, 4.7e-9, 5.6e-9, 6.8e-9, 8.2e-9, 1e-8});
}

TEST_CASE("the nearest value is nearest in ratio") {
  CHECK(nearest(Series::e24, 152300) == 150000.0);
  CHECK(nearest(Series::e3, 1.48) == 1.0);  // sqrt(2.2) = 1.4832
  CHECK(nearest(Series::e3, 1.49) == 2.2);
  CHECK(nearest(Series::e3, 6.8) == 4.7);  // sqrt(47) = 6.8557, across the decade
  CHECK(nearest(Series::e3, 6.9) == 10.0);
  std::mt19937_64 random(1);
  std::uniform_real_distribution<double> exponent(-12, 9);
  for (const Series s : kAll)
    for (int k = 0; k < 300; ++k) {
      const double value = std::pow(10.0, exponent(random));
      const double found = nearest(s, value);
      for (const double other : members(s, value / 3, value * 3))
        CHECK(std::abs(std::log(found / value)) <= std::abs(std::log(other / value)) + 1e-12);
    }
}

TEST_CASE("the neighbours enclose a value and meet on a member") {
  CHECK(around(Series::e24, 4700.0) == std::pair(4700.0, 4700.0));
  CHECK(around(Series::e24, 4.7 * 1000 * (1 + 1e-12)) == std::pair(4700.0, 4700.0));
  CHECK(around(Series::e24, 4.7 * 1000 * (1 - 1e-12)) == std::pair(4700.0, 4700.0));
  CHECK(around(Series::e24, 4800.0) == std::pair(4700.0, 5100.0));
  CHECK(around(Series::e24, 9.5) == std::pair(9.1, 10.0));
  CHECK(around(Series::e24, 1.0) == std::pair(1.0, 1.0));
  CHECK(around(Series::e192, 9.195) == std::pair(9.09, 9.2));
  CHECK(around(Series::e6, 999e-12) == std::pair(680e-12, 1e-9));
}

TEST_CASE("members counts its ends in and gives nothing where there is nothing") {
  CHECK(members(Series::e6, 10, 100) == std::vector<double>{10, 15, 22, 33, 47, 68, 100});
  CHECK(members(Series::e6, 10 * (1 + 1e-10), 15 * (1 - 1e-10)) == std::vector<double>{10, 15});
  CHECK(members(Series::e6, 10.1, 14.9).empty());
  CHECK(members(Series::e6, 100, 10).empty());
  CHECK(members(Series::e192, 1, 9.9).size() == 192);
}

TEST_CASE("two-part combinations are the best of all pairs") {
  // Brute force over every pair within the stated partner range (a thousandfold).
  std::mt19937_64 random(2);
  std::uniform_real_distribution<double> exponent(2, 6);
  for (const Series s : {Series::e3, Series::e6, Series::e12, Series::e24, Series::e96})
    for (int k = 0; k < 6; ++k) {
      const double value = std::pow(10.0, exponent(random));
      const std::vector<TwoPart> got = two_part_combinations(s, value, 5);
      REQUIRE(got.size() == 5);
      const std::vector<double> all = members(s, value / 2100, value * 2100);
      std::vector<double> errors;
      for (const double a : all)
        for (const double b : all) {
          if (b > a || b < a / 1000 * (1 - 1e-9)) continue;
          errors.push_back(std::abs((a + b) / value - 1));
          errors.push_back(std::abs(1 / (1 / a + 1 / b) / value - 1));
        }
      std::sort(errors.begin(), errors.end());
      for (int i = 0; i < 5; ++i) CHECK(within(std::abs(got[i].error_ratio), errors[i], 1e-12));
    }
}

TEST_CASE("a two-part combination adds up as it says") {
  for (const TwoPart& p : two_part_combinations(Series::e24, 7200, 20)) {
    const double want = p.parallel ? p.first * p.second / (p.first + p.second) : p.first + p.second;
    CHECK(within_ratio(p.value, want, 1e-14));
    CHECK(within(p.error_ratio, p.value / 7200 - 1, 1e-14));
  }
  const TwoPart exact = two_part_combinations(Series::e24, 7500 + 220, 1).front();
  CHECK(within(exact.error_ratio, 0, 1e-15));
  CHECK(two_part_combinations(Series::e24, 7200, 0).empty());
}
