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

/// The same above the plate of a first stage.
inline constexpr Limit kSourceCompliance{
    "source_voltage_v",
    "left for the first stage's source",
    "V",
    "least voltage across the constant current above the first stage's plate, at rest and over the cycle at "
    "the target, against the least with which it works (load_compliance_v)",
    Depth::rest,
    false,
    [](const Design& d, const Evaluation& e, const DesignFactors&, int) -> std::optional<LimitResult> {
      if (!rest_known(e) || !places_of(d).plate_source) return std::nullopt;
      const OperatingPoint& rest = e.operating_point;
      const double own_supply_v = rest.supply_v - d.first_stage.decoupling_ohm * rest.first.plate_current_a;
      double highest_v = rest.first.plate_v;
      if (target_known(e))
        for (int k = 0; k < e.waveforms.instants; ++k)
          highest_v = std::fmax(highest_v, e.waveforms.first.plate_v[static_cast<std::size_t>(k)]);
      return at_least(own_supply_v - highest_v, d.first_stage.load_compliance_v);
    },
    "Let the first plate rest lower (a smaller cathode resistor or more current), take a higher supply, or "
    "a source that works with less."};

}  // namespace antiphase
