/// What the program tells the shell.
#pragma once

#include <array>
#include <string>
#include <string_view>

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

struct ExitCodeMeaning {
  ExitCode code;
  std::string_view meaning;
};

/// Every code once, in ascending order. The help prints this table, and the manual with it; tests hold the
/// documents against what the help prints.
inline constexpr std::array kExitCodes{
    ExitCodeMeaning{kDone, "done"},
    ExitCodeMeaning{kNothingSatisfies,
                    "ran, but nothing satisfies the brief; the nearest misses are written"},
    ExitCodeMeaning{kBadInput, "bad input; nothing is written"},
    ExitCodeMeaning{kFileTrouble, "a file could not be read or written"},
    ExitCodeMeaning{kOurFault, "a fault of the program itself"},
    ExitCodeMeaning{kNoMemory, "memory ran out"},
    ExitCodeMeaning{kHungUp, "hung up; what was found is written"},
    ExitCodeMeaning{kInterrupted, "interrupted; what was found is written"},
    ExitCodeMeaning{kTerminated, "terminated; what was found is written"},
};

/// A line a code: "  130  interrupted; what was found is written".
inline std::string exit_codes_in_words() {
  std::string text;
  for (const ExitCodeMeaning& e : kExitCodes) {
    const std::string number = std::to_string(e.code);
    text += "\n" + std::string(5 - number.size(), ' ') + number + "  " + std::string(e.meaning);
  }
  return text;
}

}  // namespace antiphase
