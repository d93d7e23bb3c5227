/// Pin numbers of a design's tubes, from the bases of their cards.
#pragma once

#include <string>
#include <vector>

#include "stagemodels/circuits/designators.h"

namespace antiphase {

/// Pins of one section, counted from 1; 0: the card does not say.
struct SectionPins {
  int plate = 0, grid = 0, cathode = 0;
  int screen = 0;  ///< of a pentode
  bool known() const { return plate > 0 && grid > 0 && cathode > 0; }
};

/// Of a triode element of designators.circuit(). V1a is the card's section 1, V1b its section 2; which half
/// of a bottle is which is free, so this is one way to wire it.
SectionPins pins_of(const Element& triode, const Design&, const Designators&);

/// "V1, octal, from below: V1a plate 5, grid 4, cathode 6; V1b plate 2, grid 1, cathode 3; heater 7 and 8".
/// All sections of the bottle; empty where the card names no base.
std::string pins_in_words(const Element& triode, const Design&, const Designators&);

/// The same of every bottle whose card names a base.
std::vector<std::string> all_pins(const Design&);

}  // namespace antiphase
