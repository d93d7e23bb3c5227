/// Fits the parameters of a triode law to curve readings and typical characteristics.
#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "stagemodels/tubes/law.h"

namespace antiphase {

enum class Characteristic { plate_current, gm, mu, rp };

/// One number that a sheet gives, and how far off a law may be before it counts.
struct FitObservation {
  Characteristic what = Characteristic::plate_current;
  double plate_v = 0;            ///< plate to cathode, V, > 0
  std::optional<double> grid_v;  ///< grid to cathode, V; empty: where the law draws `at_current_a`
  double at_current_a = 0;       ///< A, > 0; used only where grid_v is empty
  double value = 0;              ///< A, A/V, 1 or ohm, > 0
  double uncertainty = 0;        ///< one standard deviation, in the unit of `value`, > 0
};

/// What the law gives for an observation. Empty if it has no such value there (the current asked
/// for is out of the law's reach, or plate or grid have no hold on it).
std::optional<double> characteristic_of(const TriodeLaw&, const FitObservation&);

/// Where a parameter is looked for; narrower than the range that the law allows.
struct FitRange {
  std::string_view parameter;  ///< a name of the law's fields()
  double low = 0, high = 0;    ///< searched on a logarithmic scale if low > 0 and high >= 10 low
  bool held = false;           ///< true: not fitted, stays as in the law given
  bool pulled = true;          ///< false: towards_given leaves it alone (a current scale)
};

/// The ranges used when none are given: what published sets of real small triodes span. Parameters
/// that plate curves at negative grid cannot tell (grid current) are held.
std::span<const FitRange> usual_ranges(const TriodeLaw&);

struct FitOptions {
  std::vector<FitRange> ranges;  ///< empty: usual_ranges
  int starts = 24;               ///< Halton points beside the law given, >= 0
  /// Residuals well above this many standard deviations count linearly, not by their square
  /// (soft L1). 0: plain least squares.
  double robust_from = 3;
  /// Pulls the parameters towards those of the law given, for the few points that leave
  /// directions of the parameter space undetermined.
  bool towards_given = false;
};

enum class FitStop {
  not_run,
  fitted,
  too_few_observations,  ///< fewer than parameters, and nothing to pull towards
  bad_observation,       ///< not finite, or a value, voltage, current or uncertainty <= 0
  nothing_to_fit         ///< every parameter is held
};

struct FittedParameter {
  std::string_view name, unit;
  double value = 0;
  /// From the Jacobian at the solution, scaled by the residuals. Empty: held, at the end of its
  /// range, or not determined by the observations.
  std::optional<double> standard_error;
};

struct FitOutcome {
  FitStop stop = FitStop::not_run;
  TriodeLaw law;
  std::vector<FittedParameter> parameters;      ///< in the order of the law's fields()
  std::vector<std::optional<double>> modelled;  ///< #observations, what `law` gives for each
  double cost = 0;                              ///< half the robust sum of squares, pull included
  int evaluations = 0;                          ///< of the whole set of observations
};

/// The law of the form of `given` that meets the observations best.
/// Units: SI. Failure: `stop` says why; `law` is then `given`.
/// Cost: some thousand evaluations of every observation; allocates. Same input, same answer.
/// Source: Levenberg-Marquardt as in J. J. More, Lect. Notes Math. 630 (1978) 105 (Eigen's port of
/// MINPACK); the loss by iterative reweighting, P. J. Huber, Robust Statistics (1981) ch. 7; starts
/// from J. H. Halton, Numer. Math. 2 (1960) 84.
FitOutcome fit_law(const TriodeLaw& given, std::span<const FitObservation>, const FitOptions& = {});

}  // namespace antiphase
