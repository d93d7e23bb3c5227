/// Everything that is told of one box from what a meter read in it.
#pragma once

#include "configs/read_meter.h"
#include "results/describe/diagnosis.h"

namespace antiphase {

struct ReadingsAsk {
  double meter_ohm = 10e6;
  double accuracy_pct = kMeterAccuracy_pct;
  bool pairs = false;
  int draws = 3000;  ///< of the posterior
  std::uint64_t seed = 1;
  int threads = 1;
};

/// The same for any number of threads. What the file says of the meter counts more than what is asked. Cost:
/// some 0.2 s with single faults, some 2 s with pairs.
DiagnosisReport diagnosis_of(const Design&, const Tolerances&, MeterFile, const ReadingsAsk&);

}  // namespace antiphase
