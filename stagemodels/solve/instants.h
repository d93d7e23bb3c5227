/// The instants of a cycle at which a circuit is solved, and what is summed over them.
#pragma once

#include <array>

#include "stagemodels/evaluation.h"

namespace antiphase {

/// Intervals of the half cycle. A cosine drives the stage, so every voltage is even in time and half a
/// cycle says all. N intervals give harmonic h exactly but for orders 2N - h, 2N + h, … that fold onto it:
/// with N = 15 order 20 folds onto order 10 and order 28 onto order 2. Sixteen instants fill whole vectors.
inline constexpr int kIntervals = 15, kInstants = kIntervals + 1;
/// Where grids of output valves cut a crest off, twice as many are needed.
inline constexpr int kFineInstants = 2 * kInstants;

/// Drive levels cos(k pi / N), k = 0 … N, with the weights of the mean and of the level that a solve may
/// hold. For one tone those of the cosine sums (discrete cosine transform of type I); the level is the
/// fundamental.
struct Instants {
  int count = 0;
  Row cosine{};                                ///< the drive at each instant: 1 … -1
  Row mean{};                                  ///< weights of the mean over the cycle; sum 1
  std::array<Row, kHarmonics + 1> harmonic{};  ///< weights of the cosine coefficients; [0] is the mean
};

/// The table for `intervals` intervals. Allowed: 11 … kMaxInstants - 1 (order 10 must not fold onto itself).
Instants make_instants(int intervals);

/// The shared tables for `count` (kInstants or kFineInstants) instants, and the one-instant table that stands
/// for "no signal".
const Instants& cycle_instants(int count = kInstants);
const Instants& rest_instant();

}  // namespace antiphase
