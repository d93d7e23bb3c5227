/// What the other credible laws of a tube make of a design, in words.
#pragma once

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Rows: the figures that designers ask first. Columns: as solved, lowest and highest over all credible laws.
/// Empty if there is only one law.
ValueTable law_band_table(const Record&);

/// One row per candidate: distortion, gain, current and headroom as bands, and whether the rank holds. Empty
/// if no candidate has a second law.
ValueTable ranked_band_table(const std::vector<Record>& candidates);

}  // namespace antiphase
