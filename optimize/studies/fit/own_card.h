/// The card of a type that the library does not have: what a fit cannot know.
#pragma once

#include <string>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// The tube with name and law as given, and the rest of a card. `like`: ratings, heater, capacitances, grid
/// current and spread are those of that type, and each source says so; pins are not taken over. Null:
/// each of them is NaN, to be filled in, but for what common practice gives every type (grid conduction,
/// spread).
Tube own_card(const Tube& fitted, const Tube* like);

/// The same in a sentence for the report.
std::string own_card_in_words(const std::string& tube, const Tube* like);

}  // namespace antiphase
