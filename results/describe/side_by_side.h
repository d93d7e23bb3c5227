/// Several designs side by side: parts, main figures, and the limits that each breaks.
#pragma once

#include <string>
#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

struct NamedRecord {
  std::string name;  ///< the file
  Record record;
};

/// A column a design, headed by the shortest ends of the names that tell them apart. Rows: what to build; the
/// main figures, those that some design has, "-" where one has it not; last the limits broken. 2 records at
/// least.
ValueTable side_by_side(const std::vector<NamedRecord>&);

/// Labels of the broken limits of a record, each once with its sections, tightest first.
std::vector<std::string> broken_limits(const Record&);

}  // namespace antiphase
