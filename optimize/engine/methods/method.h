/// The one contract of every method for continuous unknowns: plain structs in, a plain struct out.
#pragma once

#include <atomic>
#include <cstdint>
#include <optional>
#include <string_view>
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

/// Pure: the same task gives the same answer, on any thread. Throws only what the judge throws.
using Run = Found (*)(const MethodTask&);

enum class Reach {
  global,  ///< searches the whole box; starts are welcome but not needed
  local    ///< improves starts[0]; without one, the middle of the box
};

struct Method {
  std::string_view name;
  Reach reach = Reach::global;
  Run run = nullptr;
  std::string_view why;  ///< why it is admitted
};

}  // namespace antiphase::engine
