/// Ctrl-C and TERM: the first asks the search to end, the second ends the program at once.
#pragma once

#include <atomic>

namespace antiphase {

/// Installs the handlers for SIGINT and SIGTERM and ignores SIGPIPE (a closed pipe is then an
/// ordinary write error). The flag becomes true at the first signal.
const std::atomic<bool>& watch_for_interruption();

/// 0, or the exit code that belongs to the signal received.
int interruption_exit_code();

}  // namespace antiphase
