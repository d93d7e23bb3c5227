#include "results/text/write_quantity.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "results/text/units.h"

namespace antiphase {
namespace {

constexpr int kMostShareDecimals = 4;  // of percent and decibel
constexpr int kEveryDigit = 15;        // every decimal of so many survives the way through a double
constexpr int kLeastPlace = -5, kMostPlace = 14;  // of the first digit; beyond, an exponent is easier to read

/// Decimal digits without zeros at their end, and the power of ten of the first: 0.00153 -> "153", -3.
struct Decimal {
  std::string digits;
  int exponent = 0;
  bool zero() const { return digits == "0"; }
};

Decimal rounded(double value, int digits) {
  std::array<char, 40> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), std::abs(value),
                                 std::chars_format::scientific, std::clamp(digits, 1, 17) - 1)
                       .ptr;
  const std::string_view text(buffer.data(), static_cast<std::size_t>(end - buffer.data()));
  const auto e = text.find('e');
  Decimal d;
  for (const char c : text.substr(0, e))
    if (c != '.') d.digits += c;
  std::from_chars(text.data() + e + 2, text.data() + text.size(), d.exponent);
  if (text[e + 1] == '-') d.exponent = -d.exponent;
  d.digits.erase(std::max<std::size_t>(1, d.digits.find_last_not_of('0') + 1));
  return d;
}

/// The digits with the point where the first has the weight 10^place.
std::string with_point(std::string digits, int place) {
  if (place < 0) return "0." + std::string(static_cast<std::size_t>(-place - 1), '0') + digits;
  const auto whole = static_cast<std::size_t>(place) + 1;
  if (digits.size() <= whole) return digits + std::string(whole - digits.size(), '0');
  return digits.insert(whole, ".");
}

/// The largest prefix that leaves a digit before the point; the first where none does.
SiPrefix prefix_of(const Decimal& d) {
  SiPrefix best = kSiPrefixes.front();
  for (const SiPrefix& p : kSiPrefixes)
    if (p.exponent <= d.exponent) best = p;
  return best;
}

std::string in_words(const Decimal& d, bool negative, std::string_view unit) {
  SiPrefix prefix = takes_prefix(unit) && !d.zero() ? prefix_of(d) : SiPrefix{0, ""};
  const int place = d.exponent - prefix.exponent;
  std::string text = negative && !d.zero() ? "-" : "";
  if (place < kLeastPlace || place > kMostPlace) {
    text += with_point(d.digits, 0) + "e" + std::to_string(d.exponent);
    prefix.text = "";
  } else {
    text += with_point(d.digits, place);
  }
  const std::string_view sign = unit_sign(unit);
  if (!sign.empty()) text.append(" ").append(prefix.text).append(sign);
  return text;
}

bool is_share(std::string_view unit) {
  return unit == "%" || unit == "dB";
}

}  // namespace

std::string engineering_text(double value, std::string_view unit, int digits) {
  if (!std::isfinite(value)) return "n/a";
  Decimal d = rounded(value, digits);
  if (is_share(unit) && digits - 1 - d.exponent > kMostShareDecimals)
    d = rounded(std::round(value * 1e4) / 1e4, digits);
  return in_words(d, value < 0, unit);
}

std::string signed_engineering_text(double value, std::string_view unit, int digits) {
  std::string text = engineering_text(value, unit, digits);
  const bool zero = text.substr(0, text.find(' ')) == "0";
  if (std::isfinite(value) && value > 0 && !zero) text.insert(0, 1, '+');
  return text;
}

std::string exactly(double value, std::string_view unit) {
  return std::isfinite(value) ? in_words(rounded(value, kEveryDigit), value < 0, unit) : "n/a";
}

Prefix prefix_for(double largest, std::string_view unit) {
  if (!takes_prefix(unit) || !std::isfinite(largest) || largest == 0) return {1, ""};
  const SiPrefix p = prefix_of(rounded(largest, 3));
  return {std::pow(10.0, p.exponent), p.text};
}

std::string significant_text(double value, int digits, int most_decimals) {
  if (!std::isfinite(value)) return "n/a";
  const int decimals = std::clamp(digits - 1 - rounded(value, digits).exponent, 0, most_decimals);
  return fixed_text(value, value == 0 ? std::min(digits - 1, most_decimals) : decimals);
}

std::string fixed_text(double value, int decimals) {
  if (!std::isfinite(value)) return "n/a";
  std::array<char, 400> text;
  const auto end =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, decimals).ptr;
  std::string number(text.data(), end);
  if (number.find_first_not_of("-0.") == std::string::npos && number.front() == '-') number.erase(0, 1);
  return number;
}

}  // namespace antiphase
