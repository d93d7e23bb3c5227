/// The value that stands on a part, once for list, drawing and netlist.
#pragma once

#include <array>
#include <optional>
#include <string>

#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// Down to here a capacitor proposed by the program carries the signal; a design that wants another low end
/// names its capacitors, or a brief its low frequency.
inline constexpr double kProposedDownTo_hz = 10;

/// Values of a design's parts. Where the design names no value of a capacitor one is proposed: an E6 value,
/// chosen as a search chooses for a low frequency (stagemodels/linear/choose_capacitors.h) of
/// kProposedDownTo_hz. A capacitor that this choice can do without is given its own pole at a third of that
/// before the others are chosen. Nothing is proposed where the rest point is not solved. Figures do not see
/// proposals: they take an open capacitor as a short.
class PartValues {
 public:
  /// Allowed: an evaluation of that design, to any depth. Cost: where a capacitor is open, a hundred
  /// solutions of the linear network.
  PartValues(const Design&, const Evaluation&);

  /// Ohm, F, A or V; of a feedback resistor that the design leaves open what the evaluation found. 0: not
  /// known. Allowed, here and below: an element of circuit_of(design).
  double named(const Element&) const;
  /// Of an open capacitor, F; empty: it is not open, or nothing can be proposed.
  std::optional<double> proposed(const Element&) const;
  /// "47 kΩ", "≥ 33 nF" of a proposal, "" where neither is known and for what has no value.
  std::string text(const Element&) const;

 private:
  const Design& design_;
  double feedback_ohm_ = 0;
  const Circuit& circuit_;
  std::array<double, Circuit::kMostElements> proposed_{};
};

/// Of the resistor that two parts make, the designator of one: "R2a".
std::string designator_of_part(std::string_view whole, bool first);

/// "91 kΩ + 3.9 kΩ in series".
std::string two_in_words(const engine::TwoPart&);

}  // namespace antiphase
