/// A push-pull pair of output valves, its transformer and its load: what a driver has to move.
#pragma once

#include <array>
#include <cmath>

#include "stagemodels/tubes/output_valve.h"

namespace antiphase {

/// What sets the bias of an output valve: a voltage from a supply of its own, or its cathode's current
/// through a resistor.
enum class OutputBias { fixed, cathode };

/// Where the screens hang.
enum class ScreenConnection {
  supply,       ///< a voltage of their own
  ultralinear,  ///< a tap of each half primary
  triode,       ///< the plates; true triodes too
};

/// Plate to plate, tapped in the middle, perfectly coupled but for its leakage. Elements that are 0 are not
/// there. At mid-band only the ratio and the resistances count; the rest is transformer_response.h's.
struct OutputTransformer {
  double plate_to_plate_ohm = 0;  ///< load_ohm as the plates see it, windings without resistance
  double load_ohm = 8;
  double primary_ohm = 0;    ///< of the whole primary, half of it on each side
  double secondary_ohm = 0;  ///< of the secondary
  double primary_h = 0;      ///< whole primary, at the level of interest
  double leakage_h = 0;      ///< whole, seen at the whole primary with the secondary shorted
  double primary_f = 0;      ///< stray capacitance from plate to plate
  double secondary_f = 0;    ///< that of the secondary, as the whole primary sees it

  /// Turns of the whole primary per turn of the secondary.
  double turns_ratio() const { return std::sqrt(plate_to_plate_ohm / load_ohm); }
};

/// SI units. Index 0, 1: the valves behind outputs 1 and 2.
struct OutputPair {
  std::array<const OutputValve*, 2> valve{};  ///< not owned; both with a law
  double supply_v = 0;                        ///< at the centre tap
  ScreenConnection screens = ScreenConnection::supply;
  double screen_v = 0;    ///< of the screens' own supply
  double screen_ohm = 0;  ///< before both screens, not bypassed; with a supply of their own only
  double tap = 0.4;       ///< of ultralinear: share of the half primary between supply and screen
  OutputBias bias = OutputBias::fixed;
  double bias_v = 0;       ///< of the grids to ground, <= 0; with a cathode resistor 0
  double cathode_ohm = 0;  ///< common to both, bypassed
  OutputTransformer transformer;
  double source_ohm = 0;  ///< of what drives each grid, what loads it included
  double grid_leak_ohm =
      0;  ///< from each grid to its bias, behind a coupling capacitor; 0: no capacitor, no shift
};

/// The output stage that a design drives: a pair, and the power that its load is to have. The swing that the
/// design is asked for follows from it, and so does what feedback has to know of the output stage.
struct OutputStage {
  bool given = false;
  double watts = 0;
  OutputPair pair;  ///< source_ohm and grid_leak_ohm are the design's own and stand at 0 here
};

}  // namespace antiphase
