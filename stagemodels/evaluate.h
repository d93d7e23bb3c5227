/// Design in, figures out: the one door to the solvers.
#pragma once

#include <functional>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

/// How far to go. Each level includes the ones before.
enum class Depth {
  rest,  ///< operating point only
  small_signal,
  at_target,
  full,            ///< clean swing too
  with_frequency,  ///< corners, balance against frequency, ripple and noise too; no curve
  with_hand,       ///< hand estimates too
  everything,      ///< the curve against frequency, two tones, levels and overdrive too
};

/// Solves `design` to the depth asked.
/// Allowed: a design within the ranges of design_fields(); tubes set.
/// Failure: never throws; see the `solved` member of each part.
/// Cost: 10–40 us for `full` (a gain stage with its splitter 60 us), 100 us more with frequency; allocates
/// nothing. Threads: safe.
void evaluate(const Design& design, Depth depth, Evaluation& out);

/// Asked each time a depth up to at_target has been reached and a deeper one is wanted; `out` is filled so
/// far, the rest of it marked as not run. False ends the evaluation there.
using GoOn = std::function<bool(Depth reached)>;

/// The same, for who may know early that the rest is not worth its time. Figures do not depend on where it
/// ends.
void evaluate(const Design& design, Depth depth, Evaluation& out, const GoOn& go_on);

/// The steady state at a given drive instead of at the target. `waveforms` may be null.
/// Allowed and cost as above; the rest point is solved first.
SteadyState steady_state_at_drive(const Design& design, double input_peak_v, Waveforms* waveforms);

}  // namespace antiphase
