/// Lines of a parts list, by their labels.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "results/describe/parts_list.h"

namespace antiphase::sample {

/// The first line of that label; the test case ends where there is none.
inline const PartLine& part(const std::vector<PartLine>& parts, const std::string& label) {
  const auto it =
      std::find_if(parts.begin(), parts.end(), [&](const PartLine& p) { return p.label == label; });
  REQUIRE_MESSAGE(it != parts.end(), label);
  return *it;
}

}  // namespace antiphase::sample
