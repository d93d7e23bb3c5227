/// The columns of a list of designs, for terminals and pages alike.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

struct TextColumn {
  enum class Align { left, right, point };  ///< point: numbers to line up at the decimal point
  std::string heading;                      ///< lines divided by '\n'; a unit stands on the last one
  Align align = Align::right;
  std::vector<std::string> cells;  ///< one per record; "" where it does not apply
};

/// What to build: tube, supply, resistors, currents. Only columns that apply to one of the records; the
/// circuit only where several are compared, or the records are of several.
std::vector<TextColumn> build_columns(const std::vector<const Record*>&, bool compares_circuits = false);

/// The circuit's name in files, as words: "split load".
std::string short_name(CircuitKind);

/// What it does: one column a figure (indices into figures()), "-" where it cannot be reached.
std::vector<TextColumn> figure_columns(const std::vector<const Record*>&,
                                       const std::vector<std::size_t>& shown);

std::string score_text(const Record&);  ///< "-" without a score

}  // namespace antiphase
