/// The output stage behind a design, in words: what its pair takes and gives, and whether the design brings
/// it there.
#pragma once

#include <string>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Columns: the pair at the watts wanted, driven ideally; driven by this design at its target; where its
/// grids begin to draw current. Rows: drive, power, distortion, currents, dissipations. Notes: class, output
/// impedance, the transformer's band, the driver's verdict and, with feedback, the whole amplifier. Empty
/// without an output stage; only notes where the pair could not be solved.
ValueTable output_stage_table(const Record&);

/// Whether this design brings the pair to its power, in a sentence or two; empty without an output stage.
std::string full_power_in_words(const Record&);

}  // namespace antiphase
