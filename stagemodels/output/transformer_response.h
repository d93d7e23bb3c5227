/// What a transformer of four elements makes of an output stage against frequency.
#pragma once

#include <complex>
#include <optional>

#include "stagemodels/output/output_pair.h"

namespace antiphase {

/// The transformer as a ladder of two sections, all of it as the whole primary sees it: behind the valves'
/// resistance from plate to plate lie the primary's stray capacitance across the plates, the primary's
/// resistance with half the leakage, the primary inductance across the middle, the other half with the
/// secondary's resistance, and the load with the secondary's stray capacitance. The elements are those of F.
/// Langford-Smith (ed.), Radiotron Designer's Handbook, 4th ed., chapter 5, section 3 (from memory), which
/// leaves out one end of the leakage at each end of the range; here all stand at once. Core losses are left
/// out.
class TransformerResponse {
 public:
  /// `plates_ohm`: of the two valves in series, > 0. Allowed: plate_to_plate_ohm, load_ohm > 0, the rest >=
  /// 0.
  TransformerResponse(const OutputTransformer& transformer, double plates_ohm);

  /// Voltage at the load over that at mid-band, where every reactance is out of the way. Allowed: hz > 0.
  std::complex<double> at(double hz) const;

 private:
  OutputTransformer t_;
  double plates_ohm_, load_ohm_, secondary_ohm_;  ///< the latter two as the primary sees them
  double mid_band_;
};

/// True if the transformer has an element that hangs on frequency.
bool has_reactances(const OutputTransformer& transformer);

/// The valves' resistance from plate to plate that an output impedance at the load shows.
double plates_ohm(const OutputTransformer& transformer, double output_impedance_ohm);

struct TransformerBand {
  std::optional<double> low_hz, high_hz;  ///< first crossings of -3 dB on both sides of 1 kHz; empty: none
  double peak_db = 0;                     ///< the most that it rises above mid-band
  double peak_hz = 0;
};

/// Looked for from 0.1 Hz to 10 MHz, forty steps a decade, and closed in on. Cost: some 400 solutions, 30 us.
TransformerBand band_of(const TransformerResponse& response);

}  // namespace antiphase
