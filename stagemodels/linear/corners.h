/// Where the response of an output falls 3 dB below mid-band.
#pragma once

#include <array>
#include <optional>

#include "stagemodels/linear/network.h"

namespace antiphase {

/// From the source to each output, every capacitor of the designer a short and every other one nothing. Real.
Pair mid_band_gain(const Design& design, const OperatingPoint& rest);

struct Corners {
  /// Empty: none within FrequencyFigures::kLowest_hz … kHighest_hz.
  std::array<std::optional<double>, 2> low_hz{}, high_hz{};
  bool has_band = false;  ///< every output comes within 3 dB of mid-band somewhere
  int solutions = 0;      ///< of the network, for tests and benchmarks
};

/// Which sides are looked at.
struct CornersAsked {
  bool low = true, high = true;
};

/// The first crossing of -3 dB on each side of 1 kHz; if an output is more than 3 dB down there, of the
/// nearest decade where it is not. Steps are half a decade, or a whole one where the response is still within
/// 0.04 dB. `mid_band` has to be of the same design. Accuracy: 1e-8 of itself. Cost: 20-30 solutions for a
/// pair; one where neither side is asked for.
Corners find_corners(const LinearNetwork& network, const Pair& mid_band, CornersAsked asked = {});

/// True if no output is 3 dB down anywhere from `lowest_hz` up to 1 kHz (looked at in the same steps). Cost:
/// a few solutions; one if it is false at lowest_hz itself. Allowed: 0 < lowest_hz < 1 kHz.
bool holds_down_to(double lowest_hz, const LinearNetwork& network, const Pair& mid_band);

/// mid-band power over power, less one, of the output that is worst off: 1 at -3 dB, 0 at mid-band.
double greatest_loss(double frequency_hz, const LinearNetwork& network, const Pair& mid_band);

}  // namespace antiphase
