/// Node waveforms in, figures out: the same for every circuit.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {

/// Fills the operating point from a one-instant description of the circuit at rest.
void describe_rest(const Design& design, const Waveforms& still, OperatingPoint& out);

/// Harmonics, distortion, balance and stress of one period of one tone at kInstants or kFineInstants.
/// Leaves `solved` and `newton_steps` to the caller.
void describe_steady_state(const Design& design, const Waveforms& waves, double input_peak_v,
                           SteadyState& out);

}  // namespace antiphase
