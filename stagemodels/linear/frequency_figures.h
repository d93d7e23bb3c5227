/// What a designer asks of the linearised stage with its capacitors in.
#pragma once

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// What of FrequencyFigures and FeedbackFigures is asked for: a sum of these. What is left out keeps its
/// default.
using FrequencyParts = unsigned;
namespace frequency_part {
inline constexpr FrequencyParts low_corner = 1, high_corner = 2;
inline constexpr FrequencyParts balance = 4;  ///< at all its frequencies, and input_f
inline constexpr FrequencyParts ripple = 8, noise = 16;
inline constexpr FrequencyParts margins = 32;  ///< of the loop, and largest_db
inline constexpr FrequencyParts curves = 64;
inline constexpr FrequencyParts all_but_curves = curves - 1, all = 2 * curves - 1;
}  // namespace frequency_part

/// Fills `out`. Allowed: a design whose rest point is solved.
/// @return false if an output has no band: it passes no signal, or is nowhere within 3 dB of mid-band. Then
/// `out` holds no meaning. NaN and infinity never come back. Cost: in solutions of the network, which take
/// 0.2-1 us: a corner about 6, balance 3, ripple 1, noise 16, the curve 71. Allocates nothing.
bool frequency_figures(const Design& design, const OperatingPoint& rest, FrequencyParts parts,
                       FrequencyFigures& out);

/// One point of the curve.
class LinearNetwork;
FrequencyPoint frequency_point(const LinearNetwork& network, double frequency_hz);

}  // namespace antiphase
