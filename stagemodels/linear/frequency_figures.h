/// What a designer asks of the linearised stage with its capacitors in.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Fills `out`; its curve too if asked, which is left empty otherwise. Allowed: a design whose rest point is
/// solved.
/// @return false if an output has no band: it passes no signal, or is nowhere within 3 dB of mid-band. Then
/// `out` holds no meaning. NaN and infinity never come back. Cost: some 50 solutions of the network (10-30
/// us), 71 more with the curve. Allocates nothing.
bool frequency_figures(const Design& design, const OperatingPoint& rest, bool with_curve,
                       FrequencyFigures& out);

/// One point of the curve.
class LinearNetwork;
FrequencyPoint frequency_point(const LinearNetwork& network, double frequency_hz);

}  // namespace antiphase
