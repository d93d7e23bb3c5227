/// The seed of a numbered task follows from the run's seed and the number alone, so that the answer
/// does not depend on which thread takes which task.
#pragma once

#include <cstdint>

namespace antiphase::engine {

/// Output mix of SplitMix64. Source: Steele, Lea & Flood, "Fast splittable pseudorandom number
/// generators", OOPSLA 2014, doi 10.1145/2660193.2660195.
constexpr std::uint64_t split_mix(std::uint64_t z) {
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

/// Step of SplitMix64's counter: the odd integer next to 2^64 / golden ratio.
inline constexpr std::uint64_t kSplitMixStep = 0x9e3779b97f4a7c15u;

/// Seed of task number `task` of a run; tasks of one run get different seeds (the map is one-to-one).
constexpr std::uint64_t task_seed(std::uint64_t run_seed, std::uint64_t task) {
  return split_mix(run_seed + (task + 1) * kSplitMixStep);
}

}  // namespace antiphase::engine
