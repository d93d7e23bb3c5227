/// How far a search is: one line that rewrites itself on a terminal, a plain line now and then elsewhere.
#pragma once

#include <chrono>
#include <string>

#include "optimize/engine/search.h"

namespace antiphase {

class ProgressLine {
 public:
  /// Writes to standard error; nothing at all if `quiet`.
  explicit ProgressLine(bool quiet);
  void show(const engine::Snapshot& snapshot);
  void finish();  ///< clears the line on a terminal

 private:
  using Clock = std::chrono::steady_clock;
  bool quiet_, terminal_;
  bool drawn_ = false;
  Clock::time_point start_ = Clock::now(), last_{};
};

/// Does a piece of work, which is given what shows how far it is, with a line of its own.
template <class Work>
auto with_progress(bool quiet, const Work& work) {
  ProgressLine line(quiet);
  auto result = work(engine::Watch([&line](const engine::Snapshot& s) { line.show(s); }));
  line.finish();
  return result;
}

}  // namespace antiphase
