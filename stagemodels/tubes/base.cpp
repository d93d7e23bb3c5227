#include "stagemodels/tubes/base.h"

#include <algorithm>

namespace antiphase {
namespace {

bool is_electrode(Pin pin) {
  return (pin >= Pin::plate_1 && pin <= Pin::cathode_2) || pin == Pin::screen || pin == Pin::suppressor;
}

/// The same electrode of the other section.
Pin other_section(Pin pin) {
  constexpr int kElectrodes = 3;
  if (!is_electrode(pin) || pin > Pin::cathode_2) return pin;
  return static_cast<Pin>(static_cast<int>(pin) + (pin < Pin::plate_2 ? kElectrodes : -kElectrodes));
}

Pin without_shield(Pin pin) {
  return pin == Pin::shield ? Pin::none : pin;
}

}  // namespace

BaseMatch match(const TubeBase& a, const TubeBase& b) {
  if (a.socket != b.socket || a.pins.size() != b.pins.size() || a.pins.empty()) return BaseMatch::other;
  for (const bool swapped : {false, true}) {
    bool electrodes = true, all = true;
    for (std::size_t k = 0; k < a.pins.size(); ++k) {
      const Pin pa = without_shield(a.pins[k]);
      const Pin pb = without_shield(swapped ? other_section(b.pins[k]) : b.pins[k]);
      all = all && pa == pb;
      if (is_electrode(pa) || is_electrode(pb)) electrodes = electrodes && pa == pb;
    }
    if (all) return BaseMatch::same;
    if (electrodes) return BaseMatch::heater_differs;
  }
  return BaseMatch::other;
}

std::vector<int> shield_pins(const TubeBase& a, const TubeBase& b) {
  std::vector<int> pins;
  for (std::size_t k = 0; k < std::min(a.pins.size(), b.pins.size()); ++k)
    if (a.pins[k] != b.pins[k] && (a.pins[k] == Pin::shield || b.pins[k] == Pin::shield) &&
        without_shield(a.pins[k]) == without_shield(b.pins[k]))
      pins.push_back(static_cast<int>(k) + 1);
  return pins;
}

}  // namespace antiphase
