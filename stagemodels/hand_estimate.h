/// The pencil's way: one section on a straight load line, five equally spaced ordinates.
#pragma once

#include "stagemodels/evaluation.h"
#include "stagemodels/tubes/law.h"

namespace antiphase {

/// An AC load line in the plate-curve plane (plate-to-cathode volts, amperes).
struct LoadLine {
  double supply_v = 0;        ///< where it meets zero current
  double load_ohm = 0;        ///< > 0
  double rest_current_a = 0;  ///< > 0; the rest point lies on the line
};

/// Distortion of one section that swings `swing_peak_v` (fundamental, peak) along the line with its
/// cathode held still. Grid ordinates at +1, +1/2, 0, -1/2, -1 of the drive; harmonics 2 to 4.
/// `valid` is false if the line has no such rest point or the swing does not fit on it.
/// Source: five-ordinate graphical harmonic analysis, as in RDH4 chapter 13 (Espley, Proc. IRE 21 (1933)
/// 1439; Mouromtseff & Kozanowski, Proc. IRE 23 (1935) 1224) for equally spaced grid volts.
HandEstimate hand_estimate(const TriodeLaw& law, const LoadLine& line, double swing_peak_v);

}  // namespace antiphase
