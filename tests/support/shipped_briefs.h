/// The briefs that the project ships, for tests that need a real one.
#pragma once

#include <doctest/doctest.h>

#include <string>

#include "configs/read_brief.h"
#include "tests/support/shipped.h"

namespace antiphase::testing {

/// By its file's name in configs/briefs. Its tubes are those of shipped().
inline Brief brief_named(const std::string& name) {
  const auto read = read_brief(ANTIPHASE_SOURCE "/configs/briefs/" + name, shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Brief>(read);
}

}  // namespace antiphase::testing
