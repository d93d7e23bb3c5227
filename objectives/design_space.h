/// Which designs a brief leaves open: the variables with their ranges, and what is fixed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "objectives/part_supply.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "stagemodels/design.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// A range, a range with a step, a list, or one fixed value (low == high).
struct Range {
  double low = 0, high = 0;
  double step = 0;             ///< 0: none
  std::vector<double> values;  ///< a list, ascending; then low and high are its ends
  bool fixed() const { return low == high; }
};

/// Continuous variables are asked in the designer's terms (current, share of the supply);
/// the parts follow from them and are then taken from the series. Those that the circuit has no sizing input
/// for (sizing_inputs.h) have no meaning in it.
struct DesignSpace {
  CircuitKind circuit{};
  std::vector<const Tube*> tubes;    ///< not owned, not empty
  std::vector<BiasForm> bias_forms;  ///< of those that the circuit has; not empty if it has any
  std::vector<TailForm> tail_forms;  ///< the same
  Range supply_v;
  Range tail_fraction;
  Range plate_current_a;                 ///< per section of the output stage, at rest
  Range plate_ohm;                       ///< of section 1
  Range plate_ohm_ratio;                 ///< section 2 over section 1
  std::vector<const Tube*> first_tubes;  ///< of a stage ahead, if there is one: not owned, not empty
  Range first_plate_ohm;
  Range first_plate_current_a;  ///< at rest; where the next grids hang on that plate, it follows from them
  engine::Series resistor_series = engine::Series::e24;
  engine::Series capacitor_series = engine::Series::e6;
  struct OwnSeries {
    const DesignField* part = nullptr;  ///< a resistor of the circuit, not null
    engine::Series series{};
  };
  std::vector<OwnSeries> own_series;  ///< of single parts, in place of resistor_series
  struct OwnRange {
    const DesignField* part = nullptr;  ///< not null; one that may_have_own_range() (part_levels.h)
    Range range;
  };
  /// What otherwise follows from the wishes above, is chosen or has a default, and here is given, listed or
  /// ranged. Both hold together: the wishes remain what the solved design has to come to.
  std::vector<OwnRange> own_ranges;
  std::optional<Range> first_plate_v;  ///< of a stage ahead, at rest: what the solved design has to come to
  bool plate_2_of_two = false;         ///< plate resistor 2 may be two resistors in series or parallel
  std::optional<Stock> on_hand;        ///< only these values, and no more of each than there are
  /// -3 dB of each output at or below it; capacitors that are not given are chosen for it. Empty: none is
  /// chosen.
  std::optional<double> low_frequency_hz;
  Design given;  ///< everything that is not a variable: load, swing, leak, heater, …

  /// The part's own range, or null.
  const Range* own_range(const DesignField& part) const {
    for (const OwnRange& own : own_ranges)
      if (own.part == &part) return &own.range;
    return nullptr;
  }
};

}  // namespace antiphase
