/// What a fit came to, in words and numbers.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stagemodels/tubes/fit.h"

namespace antiphase {

/// Errors of a law against the plate-current readings above a tenth of the typical current.
struct ReadingErrors {
  int readings = 0;
  double rms_pct = 0;
  double largest_pct = 0;  ///< signed
};

/// `modelled`: #observations, as in FitOutcome. `typical_a`: what the type is run at, A.
ReadingErrors reading_errors(std::span<const FitObservation> readings,
                             std::span<const std::optional<double>> modelled, double typical_a);

/// Root of the mean square of relative errors, %. 0 for none.
double rms_error_pct(std::span<const FitObservation>, std::span<const std::optional<double>> modelled);

/// Parameters with standard errors, readings by grid voltage, the worst readings, and the published
/// characteristics. The first `readings` observations are curve readings, the rest published.
std::string fit_report(const FitOutcome&, std::span<const FitObservation>, std::size_t readings,
                       double typical_a);

}  // namespace antiphase
