/// The pencil's estimate beside the solved figures, and why they differ.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// Rows: how it was found, distortion, drive at the grid, load. The solved figures stand first.
struct HandRow {
  std::string method, thd, drive, load;
};
std::vector<HandRow> hand_rows(const Record&);

/// What the common cathode changes, and what the line from the supply end is not. Fits the circuit.
std::vector<std::string> hand_sentences(const Design&);

}  // namespace antiphase
