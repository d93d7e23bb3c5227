#include "optimize/program/standard_output.h"

#include <cerrno>
#include <cstdio>
#include <cstring>

#include "results/text/lines.h"

namespace antiphase {

bool print(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0)
    return true;
  std::fprintf(stderr, "antiphase: standard output: %s\n", std::strerror(errno));
  return false;
}

bool print_for_people(const std::string& text) {
  return print(printable(text, true));
}

}  // namespace antiphase
