/// Counts evaluations from many threads and tells the watcher now and then.
#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>
#include <limits>
#include <mutex>
#include <string_view>

#include "optimize/engine/search.h"

namespace antiphase::engine {

/// It changes nothing in the answer. All members may be called from any thread.
class EvaluationCounter {
 public:
  explicit EvaluationCounter(const Watch& watch) : watch_(watch) {}

  void expect(std::int64_t evaluations) { expected_ += evaluations; }
  void begin(std::string_view stage);  ///< tells the watcher at once; `stage` must be a literal
  void saw_ideal() { count(); }
  void saw_parts(const Judged& judged);

 private:
  void count();
  void tell();  // the caller holds mutex_

  static constexpr double kNone = std::numeric_limits<double>::infinity();  // above every finite cost

  const Watch& watch_;
  std::mutex mutex_;
  std::string_view stage_;
  std::chrono::steady_clock::time_point last_told_{};
  std::atomic<std::int64_t> evaluations_{0}, expected_{0};
  std::atomic<double> least_cost_{kNone};
};

}  // namespace antiphase::engine
