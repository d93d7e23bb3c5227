/// A tube card as text, in the layout of configs/schema/tube.schema.json.
#pragma once

#include <string>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// The whole card: one line per rating, model and point; SI numbers in their shortest exact form.
/// read_tube() gives the same tube back.
std::string card_text(const Tube&);

/// Only the name and the models: for a type that has no card yet. Not a card on its own, since
/// ratings, heater, capacitances and the rest can only come from its data sheet.
std::string card_fragment_text(const Tube&);

}  // namespace antiphase
