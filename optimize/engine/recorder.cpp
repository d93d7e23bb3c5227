#include "optimize/engine/recorder.h"

#include <utility>

#include "optimize/engine/order.h"

namespace antiphase::engine {

Recorder::Recorder(const Problem& problem, int budget, const std::atomic<bool>* stop, Seen seen)
    : judge_(problem.make_judge()), budget_(budget), stop_(stop), seen_(std::move(seen)) {}

Judged Recorder::ask(std::span<const double> x) {
  const Judged judged = judge_(x);
  ++evaluations_;
  if (seen_) seen_(x, judged);
  // The judgement alone settles nearly every case; the point is built only when it may win.
  if (!best_ || !better(best_->judged, judged)) {
    Point point{{x.begin(), x.end()}, judged, 0};
    if (!best_ || better(point, *best_)) best_ = std::move(point);
  }
  return judged;
}

Ended Recorder::ended(Ended otherwise) const {
  if (interrupted()) return Ended::interrupted;
  return evaluations_ >= budget_ ? Ended::budget_spent : otherwise;
}

}  // namespace antiphase::engine
