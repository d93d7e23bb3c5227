/// The posterior over faults, laws and scatter as one weighted sample, and what is read off it: bands of
/// quantities, and which reading would tell most.
#pragma once

#include <cstdint>
#include <vector>

#include "objectives/diagnosis/fit.h"
#include "objectives/diagnosis/quantities.h"

namespace antiphase {

struct PosteriorDraw {
  std::size_t fault = 0;
  int law = 0;
  double weight = 0;  ///< all sum up to 1
  Deviates z{};
  Shown shown{};  ///< at every reading, taken or not
  NodeVolts volts{};
};

/// Where a quantity lies, and how the readings narrowed it.
struct QuantityTold {
  double low = 0, quarter = 0, middle = 0, three_quarters = 0, high = 0;  ///< 5, 25, 50, 75, 95 %
  double before_low = 0, before_high = 0;  ///< 5 and 95 % of sound boxes before any reading
  double narrowed = 0;                     ///< share of that width that is gone, 0 … 1
  int decided_by = -1;  ///< the reading without which it would be widest; -1: none did much
};

/// Of all quantities. models: one for each law. Cost: some us a draw and quantity. Allocates.
std::vector<QuantityTold> told_of(const Quantities&, const std::vector<BenchModel>& models,
                                  const std::vector<Fault>&, const std::vector<PosteriorDraw>&,
                                  std::uint64_t seed);

/// Fills `decided_by` from the curvature around the most probable state.
void tell_what_decided(const Quantities&, const BenchModel&, const Fault&, const Taken&, const Fit&,
                       std::vector<QuantityTold>&);

struct NextTold {
  int reading = 0;
  double bits = 0;               ///< expected information on which fault, if any, it is
  double low_v = 0, high_v = 0;  ///< where the posterior expects it, 5 and 95 %
};

/// Of every reading that was not taken, the most telling first. Nested over the draws (T. Rainforth et al.,
/// "On nesting Monte Carlo estimators", Int. Conf. Machine Learning 2018), one draw of the meter's error for
/// each. Cost: some ms a reading. Allocates.
std::vector<NextTold> next_readings(const std::vector<BenchReading>&, const Taken&,
                                    const std::vector<PosteriorDraw>&, std::uint64_t seed);

/// Even draws out of weighted ones, at evenly spaced places of the weights added up; `only`: of one fault, or
/// -1. At most `count`; none if there are none.
std::vector<PosteriorDraw> thinned(const std::vector<PosteriorDraw>&, int count, int only = -1);

/// What a hand-held meter may be off at a reading, as a standard deviation: accuracy_pct of the reading taken
/// as two standard deviations, the rounding to its last step, and 10 mV.
double meter_deviation_v(double volts, double accuracy_pct, double step_v);
/// The same of a reading that may be off for other reasons too.
double reading_deviation_v(const BenchReading&, double volts, double accuracy_pct, double step_v);
/// Of a hand-held digital meter, % (common practice, no published source).
inline constexpr double kMeterAccuracy_pct = 1;

}  // namespace antiphase
