/// With the tubes as they now seem: which one resistor to which standard value brings balance, current or
/// distortion back to what was drawn, which two where one alone does not, or that nothing need be changed.
#pragma once

#include <optional>
#include <vector>

#include "objectives/diagnosis/diagnosis.h"
#include "objectives/figures/figure.h"

namespace antiphase {

/// One figure over the boxes that the readings leave possible.
struct FigureThen {
  const Figure* figure = nullptr;
  double drawn = 0;                                     ///< of the design as drawn
  double low = 0, middle = 0, high = 0;                 ///< 5, 50 and 95 % as the box is
  double then_low = 0, then_middle = 0, then_high = 0;  ///< with the change; as it is if there is none
  double off = 0, then_off = 0;  ///< mean distance from what is wanted; 1: just let pass
};

struct WhatToChange {
  enum class Advice {
    leave_it,     ///< every figure is as near as one lets pass
    change,       ///< `part` to `value` is worth it
    change_two,   ///< so are `part` and `second` together, where one alone leaves something off
    no_help,      ///< something is off, and neither one resistor nor two bring it back
    fault_first,  ///< a fault is as likely as not: that comes first
    unknown,      ///< the box, as it seems, does not reach its target
  };
  Advice advice = Advice::unknown;
  const DesignField* part = nullptr;
  double value = 0;  ///< ohm, of E24
  const DesignField* second = nullptr;
  double second_value = 0;          ///< the same
  std::vector<FigureThen> figures;  ///< balance, supply current, distortion: those that the design has
};

/// What one lets pass (common practice, no published source): balance as far from 0 as drawn or a point,
/// whichever is more, current 15 % off, distortion a third more.
inline constexpr double kBalancePasses_pct = 1, kCurrentPasses = 0.15, kDistortionPasses = 1.0 / 3;

/// Judges boxes drawn from the posterior, as they are and with each resistor a few steps of E24 away; pairs
/// of resistors on a few of the boxes first, and the most promising on all. A second part is only told where
/// one alone leaves something off, and where two leave much less. `work`: whose diagnosis it is. Cost: some
/// 50 to 200 ms, as much again with pairs. Allocates.
WhatToChange what_to_change(const Design&, const Diagnosing& work, const Diagnosis&);

}  // namespace antiphase
