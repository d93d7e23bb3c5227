/// Two tones through a circuit without memory, from the same few levels of drive as one tone.
#pragma once

#include "stagemodels/solve/instants.h"

namespace antiphase {

/// Between its capacitors the stage is static, so an output is a function of the momentary drive alone:
/// a polynomial through its values at the levels cos(k pi / N) (Chebyshev points). Put the sum of two
/// tones into that polynomial, and the mean and every product are weighted sums of the same values.
/// Exact up to the degree N. Source: L. N. Trefethen, Approximation Theory and Approximation Practice (2013),
/// chapters 3 and 4.
struct TwoToneInstants {
  Instants instants;  ///< mean: over both phases; harmonic[1]: the sum of the two tones' amplitudes
  // Weights of the coefficient of cos(m low) cos(n high):
  Row low{}, high{};              ///< (1, 0), (0, 1): the tones themselves
  Row both{};                     ///< (1, 1): f2 + f1 and f2 - f1, each half of it
  Row twice_low{}, twice_high{};  ///< (2, 1): f2 ± 2 f1; (1, 2): 2 f2 ± f1; each half of it
};

/// The low tone takes `low_share` of the common peak, the high tone the rest. Allowed: 0 < low_share < 1.
TwoToneInstants make_two_tone_instants(double low_share);

/// The shared tables: 4:1 (60 Hz + 7 kHz) and 1:1 (a close pair).
const TwoToneInstants& low_and_high_instants();
const TwoToneInstants& close_pair_instants();

/// Products of one wave given at the instants, in per cent (IEC 60268-3:2013 14.12.7, 14.12.8).
IntermodulationFigures::Products low_and_high_products(const Row& wave);
IntermodulationFigures::Products close_pair_products(const Row& wave);

}  // namespace antiphase
