/// The direct voltages that a meter can take of a design at rest: between which nodes, and under which name.
/// Names and labels are those of the measuring sheet (objectives/builds/readings.h) wherever it has them.
#pragma once

#include <string_view>
#include <vector>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

struct BenchReading {
  std::string_view name;                       ///< for files: "plate_1_v"
  std::string_view label;                      ///< for people: "plate 1"
  Node a = kGround, b = kGround;               ///< the meter shows a against b
  std::string_view also_name{}, also_label{};  ///< of a reading of the sheet between the same nodes
};

/// All that the design's circuit has, the sheet's first. At most kMostBenchReadings; a pair of nodes that is
/// one node is left out, and one that stands in the list already is the same reading.
std::vector<BenchReading> bench_readings(const Design&);

inline constexpr std::size_t kMostBenchReadings = 24;

/// The place of a name in such a list, or -1.
int place_of_reading(const std::vector<BenchReading>&, std::string_view name);

}  // namespace antiphase
