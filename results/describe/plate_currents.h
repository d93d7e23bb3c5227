/// A tube's plate current over plate and grid voltage, in round steps across what its ratings allow.
#pragma once

#include <vector>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

struct PlateCurrents {
  std::vector<double> plate_v;                 ///< plate to cathode, ascending, V
  std::vector<double> grid_v;                  ///< grid to cathode, from 0 down, V
  std::vector<std::vector<double>> current_a;  ///< [grid][plate], A
};

/// Plate voltages up to the rated one; grid voltages down to where a fiftieth of the typical current is left
/// at the highest of them. Steps are 1, 2 or 5 times a power of ten. Allowed: any tube with a plate voltage
/// rating.
PlateCurrents plate_currents(const Tube&, const TriodeLaw&);

}  // namespace antiphase
