/// What the parts may bear: the sink of a constant-current tail, and the resistors.
#pragma once

#include "objectives/limits/result.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {

inline constexpr Limit kTailCompliance{
    "tail_voltage_v",
    "left for the sink at the worst instant",
    "V",
    "least voltage across the constant-current sink, at rest and over the cycle at the target, against the "
    "least with which it works (compliance_v)",
    Depth::rest,
    false,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int) -> std::optional<LimitResult> {
      if (!rest_known(e) || !places_of(d).sink) return std::nullopt;
      const double least = std::fmin(e.operating_point.tail_v,
                                     target_known(e) ? e.at_target.tail_low_v : e.operating_point.tail_v);
      return at_least(least, d.tail.compliance_v);
    },
    "Put more voltage across the sink (a more negative rail, a higher grid voltage, a larger bias resistor), "
    "or take a sink that works with less."};

}  // namespace antiphase
