#include "optimize/program/interruption.h"

#include <unistd.h>

#include <csignal>

#include "optimize/program/exit_codes.h"

namespace antiphase {
namespace {

std::atomic<bool> asked{false};
std::atomic<int> code{0};
static_assert(std::atomic<bool>::is_always_lock_free && std::atomic<int>::is_always_lock_free,
              "only lock-free atomics may be touched in a signal handler");

extern "C" void note_signal(int signal) {
  const int exit_code = signal == SIGINT ? kInterrupted : kTerminated;
  if (asked.exchange(true)) _exit(exit_code);
  code = exit_code;
}

}  // namespace

const std::atomic<bool>& watch_for_interruption() {
  struct sigaction action {};
  action.sa_handler = note_signal;
  sigemptyset(&action.sa_mask);
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  return asked;
}

int interruption_exit_code() {
  return code;
}

}  // namespace antiphase
