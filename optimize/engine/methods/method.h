/// The one contract of every method for continuous unknowns: a function from MethodTask to Found. It is pure:
/// the same task gives the same answer, on any thread. It throws only what the judge throws.
#pragma once

#include <atomic>
#include <cstdint>
#include <optional>
#include <vector>

#include "optimize/engine/problem.h"
#include "optimize/engine/recorder.h"

namespace antiphase::engine {

struct MethodTask {
  const Problem* problem = nullptr;         ///< not owned
  std::vector<std::vector<double>> starts;  ///< #axes values each, in the problem's own units
  int evaluations = 0;                      ///< budget; never exceeded
  std::uint64_t seed = 1;
  const std::atomic<bool>* stop = nullptr;  ///< may be null
  Seen seen;                                ///< may be empty
};

struct Found {
  Ended ended = Ended::not_run;
  std::optional<Point> best;     ///< best seen by better(); empty if nothing was judged
  std::vector<Point> finalists;  ///< what a population method ended with, best first; else empty
  int evaluations = 0;
};

}  // namespace antiphase::engine
