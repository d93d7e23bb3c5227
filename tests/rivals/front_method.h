/// The contract of methods that look for a whole front at once, beside method.h for one best point.
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "optimize/engine/methods/method.h"

namespace antiphase::engine::rivals {

/// A judgement from memory; empty if the point is new. Costs no evaluation.
using Known = std::function<std::optional<Judged>(std::span<const double> x)>;

struct FrontTask {
  MethodTask base;  ///< starts: any number of points to begin from; seen: told of points judged anew
  Known known;      ///< may be empty
};

/// A method is pure: the same task gives the same answer, on any thread. It throws only what the judge
/// throws.
struct FrontFound {
  Ended ended = Ended::not_run;
  std::vector<Point> front;  ///< of everything judged, starts and known ones met included; best first
  int evaluations = 0;
};

}  // namespace antiphase::engine::rivals
