/// What the program tells the shell.
#pragma once

namespace antiphase {

enum ExitCode {
  kDone = 0,
  kNothingSatisfies = 1,  ///< ran, but no design satisfies the brief
  kBadInput = 2,          ///< a file or the command line is wrong
  kFileTrouble = 3,       ///< a file could not be read or written
  kOurFault = 70,         ///< a promise of the program itself was broken
  kNoMemory = 71,         ///< memory ran out
  kHungUp = 129,          ///< SIGHUP; what was found is written
  kInterrupted = 130,     ///< Ctrl-C; what was found is written
  kTerminated = 143,      ///< SIGTERM; likewise
};

}  // namespace antiphase
