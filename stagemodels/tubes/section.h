/// One triode section as it stands in a stage: its tube, the law that is used for it, and how this specimen
/// differs from its type.
#pragma once

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// A specimen against its type: ia = current f(vg, va / mu), f the law of the type. So gm goes with
/// `current`, the amplification factor with `mu`. Grid current is left as it is.
struct SectionSpread {
  double current = 1, mu = 1;
  bool none() const { return current == 1 && mu == 1; }
  bool operator==(const SectionSpread&) const = default;
};

struct TriodeSection {
  const Tube* tube = nullptr;
  const TriodeLaw* law = nullptr;
  SectionSpread spread;

  TriodeCurrents currents_at(double grid_to_cathode_v, double plate_to_cathode_v) const;
  /// True if some grid voltage makes current flow into the grid.
  bool has_grid_current() const { return antiphase::has_grid_current(*law) || tube->grid_diode.conducts(); }
  /// True if the grid draws nothing at this voltage or below it.
  bool grid_silent_at(double grid_to_cathode_v) const {
    return !antiphase::has_grid_current(*law) && tube->grid_diode.silent_at(grid_to_cathode_v);
  }
  bool operator==(const TriodeSection&) const = default;
};

}  // namespace antiphase
