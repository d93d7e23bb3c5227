#include "optimize/program/told_errors.h"

#include <cstdio>

#include "optimize/program/exit_codes.h"

namespace antiphase {

int tell_lines(const std::string& lines, int exit_code) {
  std::fputs(lines.c_str(), stderr);
  if (lines.empty() || lines.back() != '\n') std::fputc('\n', stderr);
  return exit_code;
}

int tell(const InputErrors& errors) {
  return tell_lines(in_words(errors), errors.unreadable ? kFileTrouble : kBadInput);
}

int tell(const std::string& command, const Trouble& trouble) {
  std::fprintf(stderr, "antiphase %s: %s\n", command.c_str(), trouble.what.c_str());
  return trouble.of_files ? kFileTrouble : kBadInput;
}

int tell(const std::string& command, const SaveError& error) {
  return tell(command, Trouble{in_words(error), true});
}

}  // namespace antiphase
