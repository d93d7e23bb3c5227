/// What the pins of a tube lead to, and whether one type can stand in the socket of another.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

namespace antiphase {

/// `none`: not connected, or not to be connected. `heater_tap`: the middle of a tapped heater.
/// `screen` and `suppressor`: of a pentode, whose plate, grid and cathode are those of section 1.
enum class Pin {
  none,
  plate_1,
  grid_1,
  cathode_1,
  plate_2,
  grid_2,
  cathode_2,
  heater,
  heater_tap,
  shield,
  screen,
  suppressor
};

/// As cards write them, in the order of Pin.
inline constexpr std::array<std::string_view, 12> kPinNames{
    "none",      "plate 1", "grid 1",     "cathode 1", "plate 2", "grid 2",
    "cathode 2", "heater",  "heater tap", "shield",    "screen",  "suppressor"};

inline std::string_view name_of(Pin pin) {
  return kPinNames[static_cast<std::size_t>(pin)];
}

struct TubeBase {
  std::string socket;     ///< "noval", "octal"
  std::string basing;     ///< number of the basing diagram, "9A"; empty: none known
  std::vector<Pin> pins;  ///< what each leads to, pin 1 first
  std::string source;
};

enum class BaseMatch {
  same,            ///< every electrode on the same pin; which section is called the first is no matter
  heater_differs,  ///< so are plates, grids and cathodes, but not heater or its tap
  other            ///< another socket or other pins
};

/// A shield on a pin that is free in the other type is no difference here: `shield_pins` tells it.
BaseMatch match(const TubeBase&, const TubeBase&);

/// Pins (from 1) that lead to a shield in one type and to nothing in the other. Of matching bases.
std::vector<int> shield_pins(const TubeBase&, const TubeBase&);

}  // namespace antiphase
