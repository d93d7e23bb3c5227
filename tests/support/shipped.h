/// The cards that the project ships, for tests that need real tubes.
#pragma once

#include <doctest/doctest.h>

#include "configs/tube_library.h"

namespace antiphase::testing {

/// Read once. ANTIPHASE_SOURCE: the project's folder, set by the build.
inline const TubeLibrary& shipped() {
  static const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<TubeLibrary>(read);
}

}  // namespace antiphase::testing
