/// What every method asks through: it judges, counts, remembers the best point itself, and says when
/// to end. (No library's last word on the optimum is believed: see methods/subspace_simplex.h.)
#pragma once

#include <atomic>
#include <functional>
#include <optional>
#include <span>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// Is told of every judged point, from the thread that judges. May be empty.
using Seen = std::function<void(std::span<const double> x, const Judged&)>;

/// Why a method ended.
enum class Ended {
  not_run,
  budget_spent,
  converged,   ///< nothing more to gain by its own rule
  interrupted  ///< the stop flag was set
};

class Recorder {
 public:
  /// `problem` and `stop` (may be null) must outlive the recorder.
  Recorder(const Problem& problem, int budget, const std::atomic<bool>* stop, Seen seen = {});

  bool interrupted() const { return stop_ && stop_->load(std::memory_order_relaxed); }
  bool may_ask() const { return evaluations_ < budget_ && !interrupted(); }

  /// Judges one point and counts it, even if may_ask() is false: the caller looks first.
  Judged ask(std::span<const double> x);

  int evaluations() const { return evaluations_; }
  int left() const { return budget_ - evaluations_; }
  const std::optional<Point>& best() const { return best_; }  ///< by better(); empty before the first

  /// Gives `otherwise` unless a stop or the budget ended the method.
  Ended ended(Ended otherwise) const;

 private:
  Judge judge_;
  int budget_, evaluations_ = 0;
  const std::atomic<bool>* stop_;
  Seen seen_;
  std::optional<Point> best_;
};

}  // namespace antiphase::engine
