/// What is not known of the types of tubes makes of a design, in words.
#pragma once

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Rows: the figures that designers ask first. Columns: as solved, both ends of the band.
/// Empty if none was worked out.
ValueTable law_band_table(const Record&);

/// One row per candidate: distortion, gain, current and headroom as bands, and whether the rank holds. Empty
/// if no candidate has bands.
ValueTable ranked_band_table(const std::vector<Record>& candidates);

}  // namespace antiphase
