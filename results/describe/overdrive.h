/// The stage past its target, in words.
#pragma once

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Rows: how far the outputs go cleanly as defined, with the stage's own grids conducting, and into the grids
/// of the output valves, as far as they are known. Columns: swing, against the target, what stops it.
ValueTable clean_swing_table(const Record&);

/// Columns: drives past the target. Rows: outputs, distortion, shifts of DC, currents into grids. Notes: how
/// far the drive may go until the output grids are starved, and how they recover. Empty if it was not asked
/// for; only notes if it could not be solved.
ValueTable overdrive_table(const Record&);

}  // namespace antiphase
