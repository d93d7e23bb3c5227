/// A number and the place it is from.
#pragma once

#include <string>

namespace antiphase {

/// A number from a data sheet with the place it is from ("from memory: …" where it is).
struct Sourced {
  double value = 0;
  std::string source;
};

}  // namespace antiphase
