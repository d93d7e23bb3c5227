/// What to measure where at first switch-on, and what a wrong reading points to.
#pragma once

#include "results/describe/spread.h"

namespace antiphase {

/// How far outside everything that was seen in the builds a reading has to be before it calls for
/// switching off: what a hand-held meter may be wrong by, % of the reading (common practice, no published
/// source).
inline constexpr double kMeterPct = 3;

/// A reading beyond these means: switch off, discharge, look. Between the band and these: measure again, and
/// look for the reason.
struct SwitchOff {
  double low = 0, high = 0;
};
SwitchOff switch_off(const SpreadRow&);

/// A row of the sheet, and of what is typed into it: between which limits a reading is ordinary, and beyond
/// which it calls for switching off.
struct SheetRow {
  const SpreadRow* row = nullptr;
  std::string points;  ///< test points as the drawing numbers them: "2", or "1-2"; empty: none
  SwitchOff off;
};
/// Of the direct voltages, in the order of the table.
std::vector<SheetRow> rest_rows(const SpreadReport&);

ValueTable rest_reading_table(const SpreadReport&);   ///< DC at every node, with bands and switch-off limits
ValueTable level_reading_table(const SpreadReport&);  ///< AC at full drive
/// Each defect with what it makes of the readings; those outside their band are marked.
ValueTable defect_table(const SpreadReport&);
/// What defects of capacitors make of the AC levels, direct voltages being as they should.
ValueTable ac_defect_table(const SpreadReport&);

/// The reading that a defect moves furthest out of its band, and how far (band widths); null: none leaves it.
const SpreadRow* most_telling(const SpreadReport&, const SpreadReport::Broken&);

}  // namespace antiphase
