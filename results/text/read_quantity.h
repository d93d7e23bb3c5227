/// Numbers as people write them: "47k", "4k7", "680", "100n", "1.5mA", "2.2 µF". write_quantity.h writes
/// them.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace antiphase {

/// Parses a number with an optional SI prefix (f p n u µ m k M G T; K is k for ohms; R or Ω as
/// decimal point or unit in ohms) and an optional unit. `unit` is the one allowed ("ohm", "F", "V",
/// "A", "W", "S", "Hz", "s", "%", "dB", "1"; any other unit is taken literally and without prefix);
/// another unit is refused. Locale plays no part: the decimal point is a point.
/// A prefix may stand for the decimal point ("4k7"). A prefix together with an exponent ("1e3k") is
/// refused, because it is more often a slip than a wish; so are hexadecimal numbers, infinities, NaN,
/// anything left over, and what a double cannot hold. "%" and "dB" take no prefix.
/// Gives: the double nearest to what is written ("2.2u" is exactly 2.2e-6). Empty if the text is not
/// such a number; the value is finite. Never throws.
std::optional<double> read_quantity(std::string_view text, std::string_view unit);

/// How a number of this unit may be written, for messages: `47000, "47k" or "47 kΩ"`.
std::string quantity_examples(std::string_view unit);

/// What a text that is no number of this unit was probably meant for, as the end of a sentence that begins
/// with the text: `has a decimal comma; write "4.7k"`, `is a voltage, where a current in A is meant: write
/// …`. Empty if it looks like neither.
std::string slip_in_number(std::string_view text, std::string_view unit);

/// The number with the prefixes that bring it where `allows` says, when it was written without one:
/// 22, "ohm" -> `; did you mean "22k"?`. Empty if none does.
std::string forgotten_prefix(double value, std::string_view unit, const std::function<bool(double)>& allows);

}  // namespace antiphase
