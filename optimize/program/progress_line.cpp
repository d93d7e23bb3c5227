#include "optimize/program/progress_line.h"

#include <unistd.h>

#include <algorithm>
#include <cstdio>

namespace antiphase {
namespace {

constexpr std::chrono::milliseconds kRedraw{100}, kPlainLine{2000};

std::string thousands(std::int64_t n) {
  std::string digits = std::to_string(n);
  for (int at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3)
    digits.insert(static_cast<std::size_t>(at), 1, ' ');
  return digits;
}

}  // namespace

ProgressLine::ProgressLine(bool quiet) : quiet_(quiet), terminal_(isatty(STDERR_FILENO) != 0) {}

void ProgressLine::show(const engine::Snapshot& s) {
  if (quiet_) return;
  const Clock::time_point now = Clock::now();
  if (now - last_ < (terminal_ ? kRedraw : kPlainLine)) return;
  if (!terminal_ && now - start_ < kPlainLine) return;  // a short run needs no lines in a log
  last_ = now;
  const double share =
      s.evaluations_expected > 0
          ? std::min(0.99, static_cast<double>(s.evaluations) / static_cast<double>(s.evaluations_expected))
          : 0;
  const double elapsed = std::chrono::duration<double>(now - start_).count();
  std::string line(s.stage);
  line += ": " + thousands(s.evaluations) + " designs judged, ";
  char text[64];
  std::snprintf(text, sizeof text, "%.0f %%", 100 * share);
  line += text;
  if (share > 0.05) {
    std::snprintf(text, sizeof text, ", about %.0f s left", elapsed * (1 - share) / share);
    line += text;
  }
  if (s.best_cost) {
    std::snprintf(text, sizeof text, ", best score %.3f", *s.best_cost);
    line += text;
  }
  if (terminal_) {
    constexpr std::size_t kWidth = 79;
    line.resize(std::min(line.size(), kWidth));
    std::fprintf(stderr, "\r%s\033[K", line.c_str());
    drawn_ = true;
  } else {
    std::fprintf(stderr, "%s\n", line.c_str());
  }
  std::fflush(stderr);
}

void ProgressLine::finish() {
  if (drawn_) std::fputs("\r\033[K", stderr);
  drawn_ = false;
}

}  // namespace antiphase
