#include "optimize/program/interruption.h"

#include <unistd.h>

#include <sys/time.h>

#include <algorithm>
#include <cmath>
#include <csignal>

#include "optimize/program/exit_codes.h"

namespace antiphase {
namespace {

std::atomic<bool> asked{false};
std::atomic<bool> signalled{false}, timed_out{false};
std::atomic<int> code{0};
static_assert(std::atomic<bool>::is_always_lock_free && std::atomic<int>::is_always_lock_free,
              "only lock-free atomics may be touched in a signal handler");

extern "C" void note_signal(int signal) {
  const int exit_code = signal == SIGINT ? kInterrupted : signal == SIGHUP ? kHungUp : kTerminated;
  if (signalled.exchange(true)) _exit(exit_code);
  code = exit_code;
  asked = true;
}

extern "C" void note_time(int) {
  timed_out = true;
  asked = true;
}

}  // namespace

const std::atomic<bool>& watch_for_interruption() {
  struct sigaction action {};
  action.sa_handler = note_signal;
  sigemptyset(&action.sa_mask);
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGHUP, &action, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  return asked;
}

void end_after(double seconds) {
  struct sigaction action {};
  action.sa_handler = note_time;
  action.sa_flags = SA_RESTART;
  sigemptyset(&action.sa_mask);
  sigaction(SIGALRM, &action, nullptr);
  double whole = 0;
  const double part = std::modf(seconds, &whole);
  itimerval timer{};
  timer.it_value.tv_sec = static_cast<time_t>(whole);
  timer.it_value.tv_usec = std::max<suseconds_t>(1, static_cast<suseconds_t>(part * 1e6));
  setitimer(ITIMER_REAL, &timer, nullptr);
}

bool time_is_up() {
  return timed_out;
}

int interruption_exit_code() {
  return code;
}

}  // namespace antiphase
