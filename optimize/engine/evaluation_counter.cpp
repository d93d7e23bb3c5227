#include "optimize/engine/evaluation_counter.h"

#include <optional>

namespace antiphase::engine {
namespace {

constexpr std::chrono::milliseconds kBetween{100};  // ten times a second is what an eye can use
constexpr std::int64_t kLookEvery = 32;             // evaluations between looks at the clock

}  // namespace

void EvaluationCounter::begin(std::string_view stage) {
  const std::lock_guard lock(mutex_);
  stage_ = stage;
  tell();
}

void EvaluationCounter::saw_parts(const Judged& judged) {
  if (judged.feasible()) {
    double least = least_cost_.load(std::memory_order_relaxed);
    while (judged.cost < least && !least_cost_.compare_exchange_weak(least, judged.cost)) {
    }
  }
  count();
}

void EvaluationCounter::count() {
  if (++evaluations_ % kLookEvery != 0 || !watch_) return;
  const std::unique_lock lock(mutex_, std::try_to_lock);
  if (lock && std::chrono::steady_clock::now() - last_told_ >= kBetween) tell();
}

void EvaluationCounter::tell() {
  if (!watch_) return;
  const double least = least_cost_;
  watch_({stage_, evaluations_, expected_, least < kNone ? std::optional(least) : std::nullopt});
  last_told_ = std::chrono::steady_clock::now();
}

}  // namespace antiphase::engine
