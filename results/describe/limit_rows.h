/// Limits in words, the tightest first.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

struct LimitRow {
  std::string limit;                   ///< "plate dissipation, section 1": label and section in one
  std::string label, section;          ///< "plate dissipation", "1"; no section for the whole stage
  std::string value, allowed, margin;  ///< "0.71 W", "≤ 0.9 W", "21 %"
  bool kept = true;
  bool as_given = false;  ///< not kept, and what the brief gives breaks it whatever is chosen
  std::string remedy;     ///< of a broken one, if there is something in particular that helps
};

/// Broken limits whose figure is missing come first, then by margin.
std::vector<LimitRow> limit_rows(const std::vector<LimitResult>&);

/// The one with the least room, in the same order; null if there is none.
const LimitResult* tightest(const std::vector<LimitResult>&);

}  // namespace antiphase
