/// Fits the correction of a MeasuredSurface to curve readings.
#pragma once

#include <span>

#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/measured_surface.h"

namespace antiphase {

struct SurfaceFit {
  bool fitted = false;  ///< false: fewer than kLeastPoints plate currents, or none that the base can reach
  MeasuredSurface law;
  double rms_share = 0;   ///< left over, rms of ln(current / reading) in units of each reading's uncertainty
  double smoothing = 0;   ///< the penalty that was taken
  double parameters = 0;  ///< how many free numbers the correction comes to: trace of the smoother matrix
  bool rises = false;     ///< current rises with grid and plate everywhere that was looked at

  static constexpr int kLeastPoints = 20;
};

/// The smoothest correction of `base` that meets the plate currents among the observations about as well as
/// they were read (V. A. Morozov's discrepancy principle, 1966), and that leaves the current rising with grid
/// and plate voltage. Observations of other kinds are left out. Allocates. Same input, same answer.
SurfaceFit fit_surface(const Koren1996& base, std::span<const FitObservation> observations);

}  // namespace antiphase
