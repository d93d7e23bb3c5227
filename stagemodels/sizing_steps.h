/// What the circuits' sizing functions have in common.
#pragma once

#include "stagemodels/sizing.h"
#include "stagemodels/solve/scalar_root.h"

namespace antiphase::sizing {

inline constexpr double kLowestGrid_v = -150, kHighestGrid_v = 5;
inline constexpr double kLeastPlate_v = 20;  // no small triode passes a useful current with less
inline constexpr double kLeastOhm = 1;

/// Fills supply or, behind a main supply, dropping resistor for a stage that draws `current_a` in all.
/// @return volts by which the main supply is below the one asked for; 0 if it fits.
double fill_supply(const SizingInputs& inputs, double current_a, Design& design);

/// Grid-to-cathode voltage at which a section passes the current with `plate_to_cathode_v(vgk)` across it.
template <class PlateVoltage>
ScalarRoot grid_for_current(const TriodeLaw& law, double current_a, PlateVoltage&& plate_to_cathode_v) {
  return find_root(
      [&](double vgk) { return currents_at(law, vgk, plate_to_cathode_v(vgk)).plate_a - current_a; },
      kLowestGrid_v, kHighestGrid_v, 1e-9);
}

/// Currents and slopes of a section that passes the current with `plate_to_cathode_v` across it; all 0 if it
/// cannot.
TriodeCurrents slopes_at(const TriodeLaw& law, double current_a, double plate_to_cathode_v);

/// The cathode resistor of a gain stage whose plate stands at `plate_v` and that passes `current_a`.
/// @return volts that the tube is short of; 0 if it fits, then `cathode_ohm` is filled with at least
/// `least_ohm`.
double fill_cathode_resistor(const TriodeLaw& law, double plate_v, double current_a, double least_ohm,
                             double& cathode_ohm);

}  // namespace antiphase::sizing
