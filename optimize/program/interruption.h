/// What ends a search early. Ctrl-C, TERM and HUP: the first asks the search to end, the second ends the
/// program at once. A time limit asks likewise.
#pragma once

#include <atomic>

namespace antiphase {

/// Installs the handlers for SIGINT, SIGTERM and SIGHUP and ignores SIGPIPE (a closed pipe is then an
/// ordinary write error). The flag becomes true at the first signal.
const std::atomic<bool>& watch_for_interruption();

/// From now on the flag becomes true after so many seconds (> 0) too.
void end_after(double seconds);
bool time_is_up();

/// 0, or the exit code that belongs to the signal received.
int interruption_exit_code();

}  // namespace antiphase
