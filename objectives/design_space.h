/// Which designs a brief leaves open: the variables with their ranges, and what is fixed.
#pragma once

#include <algorithm>
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
/// the parts follow from them and are then taken from the series. What a circuit has no sizing input or
/// member for has no meaning in it, and is meant for the others.
struct DesignSpace {
  std::vector<CircuitKind>
      circuits;  ///< not empty, each once, all with as many outputs; given.circuit is one
  /// Those that the brief could have been meant for too, without all that they need: what only they have is
  /// passed over.
  std::vector<CircuitKind> left_out;
  std::vector<const Tube*> tubes;  ///< not owned, not empty
  /// Those that are open, as far as a circuit has them; empty: the first one of each circuit.
  std::vector<BiasForm> bias_forms;
  std::vector<TailForm> tail_forms;  ///< the same
  Range supply_v;
  Range tail_fraction;
  Range plate_current_a;                  ///< per section of the output stage, at rest
  Range plate_ohm;                        ///< of section 1
  Range plate_ohm_ratio;                  ///< section 2 over section 1
  std::vector<const Tube*> first_tubes;   ///< of a stage ahead, if a circuit has one: not owned, not empty
  std::vector<GainForm> gain_forms;       ///< of a stage ahead; empty: a triode
  std::vector<const Tube*> second_tubes;  ///< of its second section; not owned; empty: as the first
  /// What may stand behind the splitter; empty: nothing. Not none alone.
  std::vector<DriverForm> driver_forms;
  std::vector<const Tube*> driver_tubes;  ///< not owned; empty only without drivers
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

  /// The circuit of a space that has one.
  CircuitKind circuit() const { return given.circuit; }
  /// True if some circuit of the space is so.
  template <class Is>
  bool some_circuit(Is is) const {
    return std::any_of(circuits.begin(), circuits.end(), is);
  }

  template <class Is>
  bool some_left_out(Is is) const {
    return std::any_of(left_out.begin(), left_out.end(), is);
  }

  /// The part's own range, or null.
  const Range* own_range(const DesignField& part) const {
    for (const OwnRange& own : own_ranges)
      if (own.part == &part) return &own.range;
    return nullptr;
  }
};

/// The forms of a circuit that a space leaves open; the one of a design by default where the circuit chooses
/// none. Empty only if it has none of those that are asked for.
std::vector<BiasForm> bias_forms_of(const DesignSpace&, CircuitKind);
std::vector<TailForm> tail_forms_of(const DesignSpace&, CircuitKind);
std::vector<DriverForm> driver_forms_of(const DesignSpace&, CircuitKind);
std::vector<GainForm> gain_forms_of(const DesignSpace&, CircuitKind);

/// What a search sets side by side: the circuit, what its first stage is made of, and what stands behind it.
struct Compared {
  CircuitKind circuit{};
  GainForm gain{};  ///< a triode by name where there is no first stage
  DriverForm driver{};

  static Compared of(const Design& d) {
    return {d.circuit, has_first_stage(d) ? d.first_stage.form : GainForm::triode, d.driver.form};
  }
  friend bool operator==(const Compared&, const Compared&) = default;
};
/// All that a space leaves open, circuit by circuit.
std::vector<Compared> compared_in(const DesignSpace&);

/// The part of a space that belongs to one of its circuits: what has no meaning in it is left out.
DesignSpace space_of(const DesignSpace&, CircuitKind);

}  // namespace antiphase
