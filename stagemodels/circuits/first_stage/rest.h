/// A start for the rest point of a gain stage and the splitter that it drives.
#pragma once

#include "stagemodels/circuits/rest_guess.h"

namespace antiphase::first_stage {

/// The splitter and the first stage each alone on a supply that is known; behind a dropping resistor that
/// supply is the one at which what comes through the resistor is what they take.
bool start_rest(const Circuit&, const Design&, SplitterRest splitter, NodeVolts&);

template <SplitterRest kSplitter>
bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
  return start_rest(c, d, kSplitter, v);
}

}  // namespace antiphase::first_stage
