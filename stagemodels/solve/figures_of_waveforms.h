/// Node waveforms in, figures out: the same for every circuit.
#pragma once

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {

/// Fills the operating point from a one-instant description of the circuit at rest.
void describe_rest(const Design& design, const Waveforms& still, OperatingPoint& out);

/// Harmonics, distortion, balance and stress of one period of one tone at kInstants or kFineInstants.
/// Leaves `solved` and `newton_steps` to the caller.
void describe_steady_state(const Design& design, const Waveforms& waves, double input_peak_v,
                           SteadyState& out);

/// Extremes that end a clean swing. Sections by their numbers; those that the circuit has not stay as they
/// are.
struct CycleExtremes {
  Pair thd_pct{};  ///< of each output
  std::array<double, Circuit::kMostSections> grid_to_cathode_peak_v{}, plate_current_low_a{};
};
using SectionsThere = std::array<bool, Circuit::kMostSections>;

/// The same figures as describe_steady_state gives, a fifth of its work.
void find_extremes(const Waveforms& waves, int outputs, const SectionsThere& has, CycleExtremes& out);
void copy_extremes(const SteadyState& state, const SectionsThere& has, CycleExtremes& out);

}  // namespace antiphase
