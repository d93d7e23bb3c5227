/// Thermal noise of the resistors and shot noise of the tubes, as it stands at the outputs.
#pragma once

#include "stagemodels/linear/network.h"

namespace antiphase {

/// Every resistor of the design, the source's and the loads' too, makes 4kT/R; a constant-current sink makes
/// none but that of its output_ohm, taken as a resistor. A section makes 4kT 2.5 gm from plate to cathode
/// (2.5/gm at the grid), and 2q times its grid's current if the grid conducts. Flicker noise is left out. All
/// sources are independent of each other; what one of them does to both outputs is not, and is kept as such
/// in the difference. Source of the method: Rohrer, Nagel, Meyer & Weber, "Computationally efficient
/// electronic circuit noise calculations", IEEE J. Solid-State Circuits SC-6 (1971) 204-213.
struct NoiseDensity {  ///< V^2/Hz
  Pair output{};
  double difference = 0;  ///< output 1 minus output 2; one section: output 1
};

/// Cost: one solution of the transposed network.
NoiseDensity noise_density(const LinearNetwork& network, double frequency_hz);

/// The densities summed over NoiseFigures::kLow_hz … kHigh_hz, V^2, by Gauss and Legendre's rule of 16 points
/// in ln f: a corner lies pi/2 beside the axis there, which leaves an error of 1e-6.
NoiseDensity noise_power(const LinearNetwork& network);

/// `mid_band` as in corners.h. Allowed: swing_peak_v > 0. Cost: 16 solutions.
NoiseFigures noise_figures(const LinearNetwork& network, const Pair& mid_band, double swing_peak_v);

}  // namespace antiphase
