/// Numbers into text the way printf does it.
#pragma once

#include <cstdarg>
#include <cstdio>
#include <string>

namespace antiphase {

/// At most 399 characters; what is longer is cut.
[[gnu::format(printf, 1, 2)]] inline std::string formatted(const char* format, ...) {
  char text[400];
  va_list arguments;
  va_start(arguments, format);
  std::vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  return text;
}

}  // namespace antiphase
