/// Each reading beside what the others let expect.
#pragma once

#include <span>

#include "objectives/diagnosis/fit.h"

namespace antiphase {

/// A reading beside what the other readings let expect if only scatter is in the box. Over the tubes' laws a
/// mixture of normals, each from the curvature where the others fit best.
struct ReadingTold {
  int reading = 0;  ///< in BenchModel::readings()
  double shown_v = 0, deviation_v = 0;
  bool known = false;  ///< false: the others alone have no rest point
  double low_v = 0, quarter_v = 0, middle_v = 0, three_quarters_v = 0, high_v = 0;  ///< 5, 25, 50, 75, 95 %
  double below = 0;  ///< share of the expectation that lies below what was read
};

/// models: one for each law. start: a state that fits them all nearly. Cost: one fit a law. Allocates.
ReadingTold expectation(std::span<const BenchModel> models, const Taken& taken, std::size_t reading,
                        const Deviates& start);

}  // namespace antiphase
