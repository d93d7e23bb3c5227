/// The table of circuits: one line each, and the functions that solve them.
#pragma once

#include <span>
#include <string_view>

#include "stagemodels/design.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

struct CircuitEntry {
  CircuitKind kind;
  std::string_view label;                                            ///< for people
  std::string_view says;                                             ///< one sentence
  void (*evaluate)(const Design&, Depth, Evaluation&, const GoOn&);  ///< GoOn: may be empty
  SteadyState (*at_drive)(const Design&, double input_peak_v, Waveforms&);
};

std::span<const CircuitEntry> circuits();
const CircuitEntry& circuit(CircuitKind);

}  // namespace antiphase
