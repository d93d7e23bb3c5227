/// Distortion of two tones at once, in words.
#pragma once

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Rows: second order, third order and total of both methods, in per cent. Columns: outputs and their
/// difference. Empty if it was not asked for; only notes if it could not be solved.
ValueTable two_tone_table(const Record&);

}  // namespace antiphase
