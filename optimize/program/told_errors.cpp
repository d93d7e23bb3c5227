#include "optimize/program/told_errors.h"

#include <cstdio>

#include "optimize/program/exit_codes.h"
#include "results/text/lines.h"

namespace antiphase {

int tell_lines(const std::string& text, int exit_code) {
  const std::string lines = printable(text, true);  // names of files and words of the command line are in it
  std::fputs(lines.c_str(), stderr);
  if (lines.empty() || lines.back() != '\n') std::fputc('\n', stderr);
  return exit_code;
}

int tell(const InputErrors& errors) {
  return tell_lines(in_words(errors), errors.unreadable ? kFileTrouble : kBadInput);
}

int tell(const std::string& command, const Trouble& trouble) {
  tell_lines("antiphase " + command + ": " + trouble.what, 0);
  return trouble.of_files ? kFileTrouble : kBadInput;
}

int tell(const std::string& command, const SaveError& error) {
  return tell(command, Trouble{in_words(error), true});
}

}  // namespace antiphase
