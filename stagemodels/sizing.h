/// From a designer's wishes (current, share of the supply) to part values: the inverse of solving.
#pragma once

#include "stagemodels/design.h"

namespace antiphase {

/// What is wished at rest. Sections are taken as equal here; the solved design tells the rest.
struct Wishes {
  double supply_v = 0;         ///< of the stage itself
  double tail_fraction = 0;    ///< pair only
  double plate_current_a = 0;  ///< of each section
  double plate_ohm = 0;        ///< of section 1
  double plate_ohm_ratio = 1;  ///< section 2 over section 1; pair only
  // gain_and_splitter only
  double first_plate_ohm = 0;
  double first_plate_current_a = 0;  ///< without meaning if coupled directly: the pair's grids set it
};

/// Fills supply, plate resistors, and bias and tail (or cathode resistor) of `design`, whose circuit, forms,
/// tubes and conditions are set. With a main supply (> 0) it fills the dropping resistor in place of the
/// supply. A negative rail that is already set (< 0) is kept, and the share of the tail follows from it; one
/// of 0 is chosen to suit the wished share.
/// @return volts that are missing between supply and what plate resistor, tube and tail need, or between main
/// supply and the wished one; 0 if it fits.
/// Of a chain the cathode resistor of the first stage is filled too, so that its plate stands where a
/// directly coupled pair needs its grids, or passes the wished current. Cost: about 1 us. Allocates nothing.
double size_stage(const Wishes& wishes, Design& design);

}  // namespace antiphase
