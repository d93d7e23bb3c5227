/// What a fit came to, in words and numbers.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/surface_fit.h"

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

/// What a report says besides the fit's own numbers.
struct FitStory {
  std::string tube, model;
  std::string towards;  ///< what the law was pulled towards, in words; empty: nothing
  std::string remarks;  ///< on single readings: lines, or empty
  std::size_t readings = 0, without_current = 0;
  double typical_a = 0;  ///< what the type is run at, A
  std::string own_card;  ///< of a type that has no card yet: what the new one holds; empty: it has one
  double poor_pct = 0;   ///< rms error above which the law is said to miss
};

/// What was fitted to what, parameters with standard errors, readings by grid voltage, the worst readings,
/// and the published characteristics. The first `story.readings` observations are curve readings, the rest
/// published. `surface`: the correction of a measured surface, or null.
std::string fit_report(const FitStory& story, const FitOutcome&, std::span<const FitObservation>,
                       const SurfaceFit* surface);

}  // namespace antiphase
