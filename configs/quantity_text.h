/// Numbers as people write them: "47k", "4k7", "680", "100n", "1.5mA", "2.2 µF", and back.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace antiphase {

/// Parses a number with an optional SI prefix (f p n u µ m k M G; R or Ω as decimal point or
/// unit in ohms) and an optional unit. `unit` is the one allowed ("ohm", "F", "V", "A", "W",
/// "Hz", "s", "%", "dB", "1"); another unit is refused. Locale plays no part.
/// Empty if the text is not such a number; the value is finite. Never throws.
std::optional<double> parse_quantity(std::string_view text, std::string_view unit);

/// Engineering notation for people, `digits` significant: 0.00153, "A" -> "1.53 mA"; 47000, "ohm" -> "47 kΩ".
std::string engineering(double value, std::string_view unit, int digits = 3);

}  // namespace antiphase
