/// The table of circuits, and what each folder says of its circuit.
#pragma once

#include <span>
#include <string_view>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

struct CircuitEntry {
  CircuitKind kind;
  std::string_view name;   ///< in files
  std::string_view label;  ///< for people
  std::string_view says;   ///< one sentence
  Circuit (*describe)(const Form&);
  std::span<const BiasForm> bias_forms;  ///< that a design chooses from; empty: it chooses none
  std::span<const TailForm> tail_forms;  ///< the same
  void (*evaluate)(const Design&, Depth, Evaluation&, const GoOn&);  ///< GoOn: may be empty
  SteadyState (*at_drive)(const Design&, double input_peak_v, Waveforms&);
};

/// In the order of CircuitKind.
std::span<const CircuitEntry> circuits();
const CircuitEntry& circuit(CircuitKind);

}  // namespace antiphase
