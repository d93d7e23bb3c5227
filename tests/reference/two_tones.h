/// Intermodulation by its definition: both phases stepped through, every capacitor's voltage corrected until
/// its mean current over both vanishes.
#pragma once

#include "tests/reference/analyses.h"

namespace antiphase::reference {

/// The products of a pair of tones at the drive at which the smaller output's two tones add up to the target
/// swing. low_share: of the common peak, for the low tone. close: the difference tones of IEC
/// 60268-3:2013 14.12.8, otherwise the sidebands of 14.12.7. steps: of each half cycle. Throws CircuitError.
std::array<IntermodulationFigures::Products, 3> two_tones(const Design& design, const Rest& rest,
                                                          double low_share, bool close, int steps);

}  // namespace antiphase::reference
