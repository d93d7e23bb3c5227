/// One section as it stands in a stage, a triode or a pentode: its tube, the law that is used for it, and how
/// this specimen differs from its type.
#pragma once

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// A specimen against its type: ia = current f(vg, va / mu), f the law of the type; of a pentode the screen
/// as the plate. So gm goes with `current`, the amplification factor with `mu`. Grid current is left as it
/// is.
struct SectionSpread {
  double current = 1, mu = 1;
  bool none() const { return current == 1 && mu == 1; }
  bool operator==(const SectionSpread&) const = default;
};

struct TriodeSection {
  const Tube* tube = nullptr;
  const TriodeLaw* law = nullptr;
  SectionSpread spread;
  /// Of a section that is used as a pentode; `law` is then that of its screen and plate in one. Null: a
  /// triode.
  const SuppressorPentode* pentode = nullptr;

  /// The screen's voltage has no meaning for a triode.
  TriodeCurrents currents_at(double grid_to_cathode_v, double plate_to_cathode_v,
                             double screen_to_cathode_v = 0) const;
  /// The section of a pentode whose screen is wired to its plate.
  TriodeSection as_triode() const { return {tube, law, spread}; }
  /// True if some grid voltage makes current flow into the grid.
  bool has_grid_current() const { return antiphase::has_grid_current(*law) || tube->grid_diode.conducts(); }
  /// True if the grid draws nothing at this voltage or below it.
  bool grid_silent_at(double grid_to_cathode_v) const {
    return !antiphase::has_grid_current(*law) && tube->grid_diode.silent_at(grid_to_cathode_v);
  }
  bool operator==(const TriodeSection&) const = default;
};

}  // namespace antiphase
