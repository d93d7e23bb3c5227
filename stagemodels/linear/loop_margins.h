/// Gain and phase margins of a feedback loop from its loop gain.
#pragma once

#include <complex>
#include <functional>
#include <span>

#include "stagemodels/evaluation.h"

namespace antiphase {

/// What may be asked of a loop.
struct LeastMargins {
  double gain_db = 0, phase_deg = 0;
};

/// T at frequencies in Hz, as many as there is room for.
using LoopGain = std::function<void(std::span<const double> hz, std::span<std::complex<double>> out)>;

/// `loop_gain`: T at each frequency, finite, such that the closed loop is 1 / (1 + T); positive at mid_hz
/// and followed from there to both ends, kSteps points a decade and closed in on between. Sources: Bode,
/// Network Analysis and Feedback Amplifier Design (1945), chapter 18; Nyquist, Bell Syst. Tech. J. 11 (1932)
/// 126-147 (the closed loop is stable if T does not go round -1, which for a loop gain that falls to both
/// sides is what the margins say).
/// Cost: about 120 frequencies, eight at a time but for the last steps. Allocates nothing if `loop_gain` does
/// not.
LoopMargins loop_margins(const LoopGain& loop_gain, double mid_hz, const LeastMargins& least);

}  // namespace antiphase
