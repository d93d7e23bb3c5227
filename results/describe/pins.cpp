#include "results/describe/pins.h"

#include <algorithm>
#include <vector>

#include "results/text/wording.h"

namespace antiphase {
namespace {

int pin_with(const TubeBase& base, Pin wanted) {
  const auto it = std::find(base.pins.begin(), base.pins.end(), wanted);
  return it == base.pins.end() ? 0 : static_cast<int>(it - base.pins.begin()) + 1;
}

std::vector<std::string> all_with(const TubeBase& base, Pin wanted) {
  std::vector<std::string> all;
  for (std::size_t k = 0; k < base.pins.size(); ++k)
    if (base.pins[k] == wanted) all.push_back(std::to_string(k + 1));
  return all;
}

SectionPins of_section(const TubeBase& base, bool second) {
  return second ? SectionPins{pin_with(base, Pin::plate_2), pin_with(base, Pin::grid_2),
                              pin_with(base, Pin::cathode_2)}
                : SectionPins{pin_with(base, Pin::plate_1), pin_with(base, Pin::grid_1),
                              pin_with(base, Pin::cathode_1), pin_with(base, Pin::screen)};
}

/// Where the halves of a tapped heater are in parallel, its ends are one side of the supply and the tap the
/// other.
std::string heater_in_words(const TubeBase& base, double volt_v) {
  constexpr double kHalvesInSeries_v = 10;  // 12.6 V; in parallel they take 6.3 V
  const auto ends = all_with(base, Pin::heater), tap = all_with(base, Pin::heater_tap);
  std::string text = "heater " + all_of(ends);
  if (tap.empty()) return text;
  if (volt_v > kHalvesInSeries_v) return text + ", its tap " + all_of(tap) + " free";
  return text + " joined, against its tap " + all_of(tap);
}

}  // namespace

SectionPins pins_of(const Element& triode, const Design& d, const Designators& names) {
  const auto& base = section_of(triode, d).tube->base;
  return base ? of_section(*base, names.of(triode).ends_with('b')) : SectionPins{};
}

std::string pins_in_words(const Element& triode, const Design& d, const Designators& names) {
  const auto& base = section_of(triode, d).tube->base;
  if (!base || base->pins.empty()) return "";
  std::string text = std::string(names.bottle_of(triode)) + ", " + base->socket + " socket: ";
  for (const Element& e : names.circuit()) {
    if (names.bottle_of(e).empty() || names.bottle_of(e) != names.bottle_of(triode)) continue;
    const SectionPins pins = pins_of(e, d, names);
    if (!pins.known()) continue;
    text += std::string(names.of(e)) + " plate " + std::to_string(pins.plate) + ", grid " +
            std::to_string(pins.grid) + ", cathode " + std::to_string(pins.cathode) +
            (pins.screen > 0 ? ", screen " + std::to_string(pins.screen) : "") + "; ";
  }
  if (const auto suppressor = all_with(*base, Pin::suppressor); !suppressor.empty())
    text += "suppressor " + all_of(suppressor) + ", wired to the cathode; ";
  text += heater_in_words(*base, section_of(triode, d).tube->heater.volt_v);
  if (const auto shield = all_with(*base, Pin::shield); !shield.empty()) text += ", shield " + all_of(shield);
  return text;
}

std::vector<std::string> all_pins(const Design& d) {
  const Designators names(d);
  std::vector<std::string> all;
  for (const Element& e : names.circuit()) {
    const std::string pins = names.bottle_of(e).empty() ? "" : pins_in_words(e, d, names);
    if (!pins.empty() && std::find(all.begin(), all.end(), pins) == all.end()) all.push_back(pins);
  }
  return all;
}

}  // namespace antiphase
