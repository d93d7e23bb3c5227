/// A limit: what a tube, a part or a brief allows, and how much room is left.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "stagemodels/circuits/places.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluate.h"

namespace antiphase {

/// Share of each published rating that a design may use. 1: all of it.
/// Defaults are common practice (no published source): a tenth in hand on dissipation,
/// current and heater insulation; data-sheet voltages are used whole; resistors run at half their power.
struct DesignFactors {
  double plate_dissipation = 0.9;
  double plate_voltage = 1.0;
  double cathode_current = 0.9;
  double heater_cathode = 0.9;
  double resistor_power = 0.5;
  double resistor_voltage = 0.8;
  /// Least plate current of a section at rest, A. Common practice, no published source: a tenth of a
  /// milliampere stands a hundred times above what damp sockets and capacitors leak, and tubes are neither
  /// measured nor matched below it.
  double least_plate_current_a = 0.1e-3;
  /// The supply comes up only when the cathodes are warm: then nothing stands at cold tubes.
  bool supply_waits = false;
  /// Limits that are not held at all, a bit for each place in limits(): to see what a brief that cannot be
  /// met hangs on. Files cannot set it.
  std::uint32_t left_out = 0;
  /// Limits that what a brief gives breaks whatever is chosen, a bit for each place in limits(): they are
  /// told once, and their rows turn no design away. Files cannot set it.
  std::uint32_t outside_as_given = 0;
};

/// The number of a section in results and files, where people count from 1. `section`: as in Element.
constexpr int section_number(int section) {
  return section + 1;
}

inline constexpr int kFirstStageSection = section_number(kFirstStage);

/// One limit held against one design.
struct LimitResult {
  std::string_view name;   ///< as in files: "plate_dissipation_w"
  std::string_view label;  ///< for people
  std::string_view unit;
  int section = 0;  ///< section_number(); 0 for the whole stage
  double value = 0;
  double limit = 0;  ///< with the design factor applied
  double design_factor = 1;
  bool at_least = false;  ///< value has to be at least the limit, not at most
  double margin_pct = 0;  ///< 100 (limit - value) / |limit|, the other way round for at_least
  bool kept = true;
  /// The value lies outside the limit and counts as kept all the same: DesignFactors::outside_as_given.
  bool outside_as_given = false;
  bool known = true;             ///< false: the design has no such figure; then value and margin mean nothing
  std::string_view remedy = {};  ///< what helps if it is broken, one sentence; empty: nothing in particular
};

/// One row of the table of limits that tubes and parts set.
struct Limit {
  std::string_view name, label, unit, description;
  Depth needs;
  bool per_section;
  /// Empty where the limit does not apply or is not published. Fills value, limit and design_factor.
  /// `section`: as in Element, one that the design has; 0 if not per_section.
  std::optional<LimitResult> (*check)(const Design&, const Evaluation&, const DesignFactors&, int section);
  std::string_view remedy;  ///< a sentence for a person who breaks it
  /// The sheet means the value that is printed on the part: the part's own tolerance does not break it.
  bool of_printed_value = false;
};

}  // namespace antiphase
