/// The currents of one output valve at one instant.
#pragma once

namespace antiphase {

/// To the cathode, V. `screen` has no meaning for a triode.
struct ElectrodeVoltages {
  double grid = 0, screen = 0, plate = 0;
};

/// Currents into plate and screen, A, and how they change with each voltage, A/V. A triode's screen takes
/// nothing. Grid current is not part of a law but of the valve's GridDiode.
struct OutputCurrents {
  double plate_a = 0;
  double plate_per_grid_s = 0, plate_per_screen_s = 0, plate_per_plate_s = 0;
  double screen_a = 0;
  double screen_per_grid_s = 0, screen_per_screen_s = 0, screen_per_plate_s = 0;
};

}  // namespace antiphase
