#include "results/text/engineering.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>

namespace antiphase {
namespace {

struct SiPrefix {
  int exponent;
  std::string_view text;
};
// SI Brochure, 9th ed., table 7; steps of a thousand only, as far as circuits go.
constexpr std::array<SiPrefix, 9> kPrefixes{
    {{-15, "f"}, {-12, "p"}, {-9, "n"}, {-6, "µ"}, {-3, "m"}, {0, ""}, {3, "k"}, {6, "M"}, {9, "G"}}};

constexpr int kMostShareDecimals = 4;  // of percent and decibel

bool takes_prefix(std::string_view unit) {
  return !(unit.empty() || unit == "1" || unit == "%" || unit == "dB");
}

/// A value rounded to significant digits: 0.d1d2d3… times ten to the `point`.
struct Rounded {
  bool negative = false;
  std::string digits;
  int point = 0;
};

Rounded rounded(double value, int digits) {
  std::array<char, 40> text;
  const auto end = std::to_chars(text.data(), text.data() + text.size(), std::abs(value),
                                 std::chars_format::scientific, std::clamp(digits, 1, 15) - 1)
                       .ptr;
  const std::string_view all(text.data(), static_cast<std::size_t>(end - text.data()));
  const auto e = all.find('e');
  Rounded r;
  for (char c : all.substr(0, e))
    if (c != '.') r.digits += c;
  r.point = std::atoi(std::string(all.substr(e + 1)).c_str()) + 1;
  r.negative = std::signbit(value) && r.digits.find_first_not_of('0') != std::string::npos;
  return r;
}

/// The digits with the point `point` places from their left end.
std::string placed(const std::string& digits, int point) {
  if (point <= 0) return "0." + std::string(static_cast<std::size_t>(-point), '0') + digits;
  const auto whole = static_cast<std::size_t>(point);
  if (digits.size() <= whole) return digits + std::string(whole - digits.size(), '0');
  return digits.substr(0, whole) + "." + digits.substr(whole);
}

void drop_trailing_zeros(std::string& number) {
  if (number.find('.') == std::string::npos) return;
  number.erase(number.find_last_not_of('0') + 1);
  if (number.back() == '.') number.pop_back();
}

SiPrefix prefix_of(int point) {  // of a number 0.d1d2… times ten to the `point`
  SiPrefix best = kPrefixes.front();
  for (const auto& p : kPrefixes)
    if (p.exponent < point) best = p;
  return best;
}

}  // namespace

std::string_view unit_sign(std::string_view unit) {
  if (unit == "ohm") return "Ω";
  if (unit == "1") return "";
  return unit;
}

Prefix prefix_for(double largest, std::string_view unit) {
  if (!takes_prefix(unit) || !std::isfinite(largest) || largest == 0) return {1, ""};
  const SiPrefix p = prefix_of(rounded(largest, 3).point);
  return {std::pow(10.0, p.exponent), p.text};
}

std::string engineering_text(double value, std::string_view unit, int digits) {
  if (!std::isfinite(value)) return "n/a";
  Rounded r = rounded(value, digits);
  if ((unit == "%" || unit == "dB") && digits - r.point > kMostShareDecimals)
    r = rounded(std::round(value * 1e4) / 1e4, digits);
  const bool zero = r.digits.find_first_not_of('0') == std::string::npos;
  const SiPrefix prefix = takes_prefix(unit) && !zero ? prefix_of(r.point) : SiPrefix{0, ""};
  std::string number = zero ? "0" : placed(r.digits, r.point - prefix.exponent);
  drop_trailing_zeros(number);
  std::string text = (r.negative ? "-" : "") + number;
  const std::string_view sign = unit_sign(unit);
  if (!sign.empty() || !prefix.text.empty()) text.append(" ").append(prefix.text).append(sign);
  return text;
}

std::string signed_engineering_text(double value, std::string_view unit, int digits) {
  std::string text = engineering_text(value, unit, digits);
  const bool zero = text.substr(0, text.find(' ')) == "0";
  if (std::isfinite(value) && value > 0 && !zero) text.insert(0, 1, '+');
  return text;
}

std::string significant_text(double value, int digits, int most_decimals) {
  if (!std::isfinite(value)) return "n/a";
  const int decimals = std::clamp(digits - rounded(value, digits).point, 0, most_decimals);
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
