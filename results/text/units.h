/// Units and the prefixes before them, for the reader of quantities and for their writer.
#pragma once

#include <algorithm>
#include <array>
#include <string_view>

namespace antiphase {

struct SiPrefix {
  int exponent;
  std::string_view text;
};
/// Steps of a thousand as far as circuits go, ascending. Source: SI Brochure, 9th ed., table 7.
inline constexpr std::array<SiPrefix, 10> kSiPrefixes{{{-15, "f"},
                                                       {-12, "p"},
                                                       {-9, "n"},
                                                       {-6, "\u00b5"},
                                                       {-3, "m"},
                                                       {0, ""},
                                                       {3, "k"},
                                                       {6, "M"},
                                                       {9, "G"},
                                                       {12, "T"}}};

/// True of the units that stand behind a prefix. Percent, decibel and pure numbers have none; of a unit that
/// is not known here nobody can say what the prefix would belong to ("k" before "V^2").
constexpr bool takes_prefix(std::string_view unit) {
  constexpr std::array<std::string_view, 9> kWithPrefix{"ohm", "F", "H", "V", "A", "W", "S", "Hz", "s"};
  return std::find(kWithPrefix.begin(), kWithPrefix.end(), unit) != kWithPrefix.end();
}

/// "Ω" for "ohm"; other units as they are; "" for "1".
constexpr std::string_view unit_sign(std::string_view unit) {
  if (unit == "ohm") return "\u03a9";
  if (unit == "1") return "";
  return unit;
}

}  // namespace antiphase
