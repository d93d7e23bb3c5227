/// How the paraphase is sized.
#pragma once

#include "stagemodels/sizing.h"

namespace antiphase::paraphase {

extern const Sizing kSizing;

/// Section 2 for the signal, cathodes still: amperes per volt at its grid, and per volt at its plate with
/// plate resistor and load, but without what leads from there to its grid.
struct SecondSection {
  double gm_s = 0, plate_s = 0;
};

/// The sections of `design` without what drives grid 2, also of one that has a stage ahead: supply, plate
/// resistors and cathode resistor. See size_stage().
double size_sections(const SizingInputs& inputs, Design& design, SecondSection& second);

/// The splitter of `design`, also of one that has a stage ahead. See size_stage().
double size(const SizingInputs& inputs, Design& design);

}  // namespace antiphase::paraphase
