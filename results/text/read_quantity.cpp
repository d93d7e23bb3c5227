#include "results/text/read_quantity.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <vector>

#include "results/text/units.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::size_t kLongest = 64;  // no honest number is longer; keeps hostile files cheap

// Prefixes that are typed in another way than they are written: without a micro sign at hand, or with U+03BC,
// the Greek letter, which looks the same.
constexpr std::array kOtherSpellings{SiPrefix{-6, "u"}, SiPrefix{-6, "\u03bc"}};
constexpr std::array<std::string_view, 5> kOhmSpellings{"ohm", "Ohm", "ohms", "\u03a9", "\u2126"};

/// In a file a pure number too may be "47k".
bool may_have_prefix(std::string_view unit) {
  return takes_prefix(unit) || unit == "1";
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// Reads a text from the front.
struct Scanner {
  std::string_view rest;

  bool take(std::string_view token) {
    if (rest.substr(0, token.size()) != token) return false;
    rest.remove_prefix(token.size());
    return true;
  }
  std::string_view take_digits() {
    std::size_t n = 0;
    while (n < rest.size() && is_digit(rest[n])) ++n;
    const auto digits = rest.substr(0, n);
    rest.remove_prefix(n);
    return digits;
  }
  void skip_spaces() {
    while (take(" ") || take("\t") || take("\u00a0") || take("\u202f")) {
    }
  }
  bool digit_follows(std::size_t offset) const { return rest.size() > offset && is_digit(rest[offset]); }
};

/// Takes a prefix (for ohms also R or the ohm sign, which stand for none); its power of ten.
std::optional<int> take_prefix(Scanner& s, std::string_view unit) {
  for (const SiPrefix& p : kSiPrefixes)
    if (!p.text.empty() && s.take(p.text)) return p.exponent;
  for (const SiPrefix& p : kOtherSpellings)
    if (s.take(p.text)) return p.exponent;
  if (unit == "ohm" && s.take("K")) return 3;  // IEC 60062 writes kilohms with a capital
  return std::nullopt;
}

bool is_unit(std::string_view text, std::string_view unit) {
  if (text.empty()) return true;
  if (unit == "ohm")
    return std::find(kOhmSpellings.begin(), kOhmSpellings.end(), text) != kOhmSpellings.end();
  return unit != "1" && text == unit;
}

std::string_view trimmed_end(std::string_view text) {
  for (bool more = true; more;) {
    more = false;
    for (const std::string_view space : {" ", "\t", "\u00a0", "\u202f"})
      if (text.size() >= space.size() && text.substr(text.size() - space.size()) == space) {
        text.remove_suffix(space.size());
        more = true;
      }
  }
  return text;
}

/// "4k7": a prefix or an ohm sign where the decimal point would be, digits on both sides.
std::optional<int> take_infix(Scanner& s, std::string_view unit) {
  Scanner ahead = s;
  auto exponent = take_prefix(ahead, unit);
  if (!exponent && unit == "ohm" && (ahead.take("R") || ahead.take("\u03a9") || ahead.take("\u2126")))
    exponent = 0;
  if (!exponent || !ahead.digit_follows(0)) return std::nullopt;
  s = ahead;
  return exponent;
}

/// What stands behind the digits: nothing, a unit, a prefix, or both. Its power of ten.
std::optional<int> suffix_exponent(std::string_view suffix, std::string_view unit, bool prefix_allowed) {
  if (is_unit(suffix, unit) || (unit == "ohm" && suffix == "R")) return 0;
  Scanner s{suffix};
  if (!prefix_allowed) return std::nullopt;
  const auto exponent = take_prefix(s, unit);
  if (!exponent || !is_unit(s.rest, unit)) return std::nullopt;
  return exponent;
}

}  // namespace

std::optional<double> read_quantity(std::string_view text, std::string_view unit) {
  if (text.size() > kLongest) return std::nullopt;
  Scanner s{trimmed_end(text)};
  s.skip_spaces();
  std::string decimal;
  if (s.take("-") || s.take("\u2212"))
    decimal = "-";  // U+2212: the minus of typeset text
  else
    s.take("+");

  const auto whole = s.take_digits();
  std::string_view fraction;
  int power = 0;
  bool may_prefix = may_have_prefix(unit);
  bool point = s.take(".");
  if (point) {
    fraction = s.take_digits();
    if (fraction.empty()) return std::nullopt;
  } else if (whole.empty()) {
    return std::nullopt;
  }
  if ((s.rest.substr(0, 1) == "e" || s.rest.substr(0, 1) == "E") &&
      (s.digit_follows(1) || (s.digit_follows(2) && (s.rest[1] == '-' || s.rest[1] == '+')))) {
    s.rest.remove_prefix(1);
    s.take("+");
    const auto [end, error] = std::from_chars(s.rest.data(), s.rest.data() + s.rest.size(), power);
    if (error != std::errc{} || std::abs(power) > 9999) return std::nullopt;
    s.rest.remove_prefix(end - s.rest.data());
    may_prefix = false;
  } else if (!point && may_prefix) {
    if (const auto infix = take_infix(s, unit)) {
      power = *infix;
      fraction = s.take_digits();
      may_prefix = false;
    }
  }
  s.skip_spaces();
  const auto suffix = suffix_exponent(s.rest, unit, may_prefix);
  if (!suffix) return std::nullopt;

  // One decimal text, so that the result is rounded once and "2.2u" is the same double as 2.2e-6.
  decimal.append(whole.empty() ? "0" : whole).append(".").append(fraction.empty() ? "0" : fraction);
  decimal.append("e").append(std::to_string(power + *suffix));
  double value = 0;
  const auto [end, error] = std::from_chars(decimal.data(), decimal.data() + decimal.size(), value);
  if (error != std::errc{} || end != decimal.data() + decimal.size() || !std::isfinite(value))
    return std::nullopt;
  const auto is_zero = [](std::string_view digits) { return digits.find_first_not_of('0') == digits.npos; };
  if (value == 0 && !(is_zero(whole) && is_zero(fraction))) return std::nullopt;  // too small for a double
  return value + 0.0;                                                             // "-0" is 0
}

std::string quantity_examples(std::string_view unit) {
  if (unit == "ohm") return "47000, \"47k\" or \"47 k\u03a9\"";
  if (unit == "F") return "1e-7, \"100n\" or \"100 nF\"";
  if (unit == "H") return "0.02, \"20m\" or \"20 mH\"";
  if (unit == "A") return "0.0015, \"1.5m\" or \"1.5 mA\"";
  if (unit == "V") return "300, \"0.3k\" or \"300 V\"";
  if (unit == "W") return "0.5, \"500m\" or \"0.5 W\"";
  if (unit == "S") return "0.0016, \"1.6m\" or \"1.6 mS\"";
  if (unit == "Hz") return "1000, \"1k\" or \"1 kHz\"";
  if (unit == "%" || unit == "dB") return std::string("3 or \"3 ").append(unit).append("\"");
  return "1.5 or \"1.5\"";
}

namespace {

struct UnitWord {
  std::string_view unit, word;
};
constexpr std::array kUnitWords{UnitWord{"ohm", "a resistance"}, UnitWord{"F", "a capacitance"},
                                UnitWord{"V", "a voltage"},      UnitWord{"A", "a current"},
                                UnitWord{"W", "a power"},        UnitWord{"S", "a conductance"},
                                UnitWord{"Hz", "a frequency"},   UnitWord{"H", "an inductance"},
                                UnitWord{"dB", "a level"},       UnitWord{"%", "a percentage"}};

std::string_view word_for(std::string_view unit) {
  for (const auto& u : kUnitWords)
    if (u.unit == unit) return u.word;
  return {};
}

/// Prefixes that are forgotten with this unit, the usual one first.
std::string_view usual_prefixes(std::string_view unit) {
  if (unit == "ohm") return "kM";
  if (unit == "A") return "mu";
  if (unit == "F") return "npu";
  return unit == "W" || unit == "S" ? "m" : "";
}

}  // namespace

std::string slip_in_number(std::string_view text, std::string_view unit) {
  if (const auto comma = text.find(','); comma != text.npos) {
    std::string with_point(text);
    with_point[comma] = '.';
    if (read_quantity(with_point, unit)) return "has a decimal comma; write \"" + with_point + "\"";
  }
  if (read_quantity(text, "1")) return {};  // no unit at all
  for (const auto& other : kUnitWords)
    if (other.unit != unit && read_quantity(text, other.unit)) {
      const auto word = word_for(unit);
      if (word.empty()) return "is " + std::string(other.word) + ", where a number without a unit is meant";
      return "is " + std::string(other.word) + ", where " + std::string(word) + " in " + std::string(unit) +
             " is meant: write " + quantity_examples(unit);
    }
  return {};
}

std::string forgotten_prefix(double value, std::string_view unit, const std::function<bool(double)>& allows) {
  std::vector<std::string> texts;
  for (const char prefix : usual_prefixes(unit)) {
    const std::string text = exactly(value, "1") + prefix;
    const auto with_prefix = read_quantity(text, unit);
    if (with_prefix && allows(*with_prefix)) texts.push_back('"' + text + '"');
  }
  return texts.empty() ? std::string() : "; did you mean " + any_of(texts) + "?";
}

}  // namespace antiphase
