/// A tube card as text, in the layout of configs/schema/tube.schema.json.
#pragma once

#include <string>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// The whole card: one line per rating, model and point; SI numbers in their shortest exact form.
/// read_tube() gives the same tube back. A number that is NaN is written as kToBeFilledIn, which read_tube()
/// refuses with the place of each.
std::string card_text(const Tube&);

}  // namespace antiphase
