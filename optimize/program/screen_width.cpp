#include "optimize/program/screen_width.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <cstring>

namespace antiphase {
namespace {

constexpr std::size_t kMost = 80, kLeast = 40;

/// What is no whole number says nothing.
std::size_t columns_of_environment() {
  const char* const text = std::getenv("COLUMNS");
  if (!text) return 0;
  std::size_t columns = 0;
  const char* const end = text + std::strlen(text);
  const auto read = std::from_chars(text, end, columns);
  return read.ec == std::errc{} && read.ptr == end ? columns : 0;
}

std::size_t columns_of_terminal() {
  winsize size{};
  return ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

}  // namespace

std::size_t screen_width() {
  const std::size_t said = columns_of_environment();
  const std::size_t columns = said > 0 ? said : columns_of_terminal();
  return columns > 0 ? std::clamp(columns, kLeast, kMost) : kMost;
}

}  // namespace antiphase
