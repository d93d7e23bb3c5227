/// A small random generator with the same numbers on every standard library (the distributions of
/// <random> are left open by the standard).
#pragma once

#include <cstdint>

#include "optimize/engine/task_seeds.h"

namespace antiphase::engine {

/// SplitMix64 (source: task_seeds.h). Period 2^64; more than enough for one task.
class RandomNumbers {
 public:
  explicit RandomNumbers(std::uint64_t seed) : state_(seed) {}

  std::uint64_t bits() { return split_mix(state_ += kSplitMixStep); }

  /// Uniform in [0, 1), 53 bits.
  double unit() { return static_cast<double>(bits() >> 11) * 0x1.0p-53; }

  /// Uniform in 0 ... count - 1; count > 0. The bias of the remainder is below count / 2^64.
  int below(int count) { return static_cast<int>(bits() % static_cast<std::uint64_t>(count)); }

 private:
  std::uint64_t state_;
};

}  // namespace antiphase::engine
