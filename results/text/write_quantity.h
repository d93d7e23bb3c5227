/// Numbers for people: three significant digits and an SI prefix. Locale plays no part. read_quantity.h reads
/// them.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// Engineering notation: 0.00153, "A" -> "1.53 mA"; 47000, "ohm" -> "47 kΩ"; 0.418, "%" -> "0.418 %".
/// Rounds to `digits` (1 … 17) significant digits, drops zeros behind the point. Percent, decibel, pure
/// numbers ("1" or "") and units that units.h does not know take no prefix; percent and decibel are given to
/// four decimals at most, below which no bench tells them from zero. What no prefix brings near is written
/// with an exponent: 4e77, "ohm" -> "4e77 Ω". "n/a" for NaN and infinity.
std::string engineering_text(double value, std::string_view unit, int digits = 3);

/// The same with a sign before positive values: "+0.31 %". Zero has none.
std::string signed_engineering_text(double value, std::string_view unit, int digits = 3);

/// Engineering notation with every digit that the number was written with (up to 15), in percent and decibel
/// too: for messages in which two near values must not look the same.
std::string exactly(double value, std::string_view unit);

/// Plain decimal, no exponent, zeros kept: 0.05 -> "0.0500" (3 digits). At most `most_decimals` places.
std::string significant_text(double value, int digits, int most_decimals);

/// Plain decimal with exactly `decimals` (0 … 15) places; "0.00", never "-0.00".
std::string fixed_text(double value, int decimals);

/// The prefix that suits a whole column whose largest size is `largest`: factor 1e3, text "k".
struct Prefix {
  double factor;
  std::string_view text;
};
Prefix prefix_for(double largest, std::string_view unit);

}  // namespace antiphase
