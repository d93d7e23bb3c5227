/// What a meter can take of a design: direct voltages at rest, between which nodes and under which name, and
/// beside them signals at the outputs and the mains. Names and labels are those of the measuring sheet
/// (objectives/builds/readings.h) wherever it has them.
#pragma once

#include <string_view>
#include <vector>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

struct BenchReading {
  enum class Kind {
    direct,  ///< a direct voltage at rest
    signal,  ///< V rms at an output, with a small signal at the input
    mains,   ///< the mains, or heaters that follow them
  };
  std::string_view name;                       ///< for files: "plate_1_v"
  std::string_view label;                      ///< for people: "plate 1"
  Node a = kGround, b = kGround;               ///< the meter shows a against b
  std::string_view also_name{}, also_label{};  ///< of a reading of the sheet between the same nodes
  Kind kind = Kind::direct;
  double hz = 0, input_v = 0;  ///< signal: its frequency, and what stands at the input, V rms
  double load_ohm = 0;         ///< signal: put across the output beside what hangs there; 0: nothing
  double nominal_v = 0;        ///< mains: what it is where every voltage is as drawn
};

/// All direct voltages that the design's circuit has, the sheet's first. At most kMostDirectReadings; a pair
/// of nodes that is one node is left out, and one that stands in the list already is the same reading.
std::vector<BenchReading> bench_readings(const Design&);

inline constexpr std::size_t kMostDirectReadings = 26, kMostBenchReadings = 31;

/// A signal at output 0 or 1, with `input_v` at the input. Allowed: an output that the design has.
BenchReading signal_reading(const Design&, int output, double hz, double input_v, double load_ohm);
/// The mains, or the heaters, which follow them. nominal_v: what they stand at with all voltages as drawn.
BenchReading mains_reading(bool heater, double nominal_v);

/// What a reading may be off for reasons that are not the meter's, as a share (standard deviation): a signal
/// is not as small as small-signal gain has it; supplies follow the mains through a transformer, and heaters
/// through a winding of their own (common practice, no published source).
inline constexpr double kSignalOff = 0.02, kMainsOff = 0.02, kHeaterOff = 0.04;
double off_beside_meter(const BenchReading&);

/// The place of a name in such a list, or -1.
int place_of_reading(const std::vector<BenchReading>&, std::string_view name);

}  // namespace antiphase
