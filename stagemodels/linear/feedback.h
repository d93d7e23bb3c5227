/// The budget of overall feedback around gain stage, splitter and an output stage that is a block.
#pragma once

#include <optional>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/linear/frequency_figures.h"

namespace antiphase {

/// Fills `out`. Allowed: has_feedback(design), its rest point solved; what is at the target may be unsolved.
/// `known` is false if the first cathode resistor has no unbypassed part, or if a number is not finite.
/// Sources: Black, "Stabilized feedback amplifiers", Bell Syst. Tech. J. 13 (1934) 1-18 (gain and distortion
/// over 1 + T); Blackman, "Effect of feedback on impedance", Bell Syst. Tech. J. 22 (1943) 269-277.
/// `parts`: margins and curves count here. Cost: about 60 us with margins. Allocates nothing.
void feedback_figures(const Design& design, const OperatingPoint& rest, const SteadyState& target,
                      FrequencyParts parts, FeedbackFigures& out);

/// The resistor that brings `wanted_db`; empty if none does. Allowed: an unbypassed part of the first cathode
/// resistor, has_feedback(design). Cost: about 5 us.
std::optional<double> feedback_resistor(const Design& design, const OperatingPoint& rest);

}  // namespace antiphase
