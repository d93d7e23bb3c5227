/// Distortion against level, in words.
#pragma once

#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// The points of the curve to tell in few lines: the nearest to every 6 dB, and the last.
std::vector<const LevelPoint*> points_to_tell(const LevelCurve&);

/// Rows: those points. Columns: level, swing, distortion of the outputs and of their difference. Empty if it
/// was not asked for; only notes if it could not be solved.
ValueTable level_table(const Record&);

}  // namespace antiphase
