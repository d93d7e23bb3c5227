/// The numbers of one design in words: label and formatted values, for terminals and pages alike.
#pragma once

#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

struct ValueLine {
  std::string label;
  std::vector<std::string> cells;  ///< one for the whole stage, or one per section (output)
};

/// Each is empty where its part of the evaluation is not solved.
std::vector<ValueLine> rest_values(const Record&);
/// "12AX7", "a cascode of 6DJ8": of a design that has a first stage.
std::string first_stage_in_words(const Design&);
std::vector<ValueLine> first_stage_values(const Record&);  ///< of a chain; empty elsewhere
std::vector<ValueLine> driver_values(const Record&);       ///< of both its sections; empty without one
std::vector<ValueLine> feedback_values(const Record&);     ///< where a budget of it is asked for
std::vector<ValueLine> small_signal_values(const Record&);
std::vector<ValueLine> target_values(const Record&);
/// Corners, input capacitance, balance at three frequencies, ripple, noise.
std::vector<ValueLine> frequency_values(const Record&);
std::vector<ValueLine> harmonic_values(
    const Record&);  ///< orders 2 to 10; numbers without the sign of percent

/// A share in per cent without its sign, for columns; what no instrument on a bench would show is not spelled
/// out.
std::string percent_text(double pct);

/// `v`, or zero where it is below `floor` and so only the rounding of a solve.
inline double without_rounding(double v, double floor) {
  return v > floor || v < -floor ? v : 0;
}

std::string_view limit_in_words(CleanLimit);

/// Why figures are missing, one sentence a part that was not solved; empty if all were.
std::vector<std::string> missing_in_words(const Evaluation&);

/// How far the outputs go cleanly, and what stops them.
std::string clean_swing_in_words(const Record&);

/// "6SL7GT at 320 V: plate resistors 150 kΩ and 160 kΩ, bias resistor 1.5 kΩ, tail resistor 27 kΩ".
/// A cathode resistor of which a part is not bypassed is told as the two resistors that make it.
std::string design_in_words(const Design&);
/// The same, with plate resistor 2 as the two that make it.
std::string design_in_words(const Record&);

}  // namespace antiphase
