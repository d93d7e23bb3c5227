/// The linearised stage against frequency, for pictures and tables.
#pragma once

#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Phase of one output against its own mid-band, in degrees, without jumps. One entry per point of the curve;
/// zero where the gain is nothing.
std::vector<double> phase_from_midband_deg(const FrequencyFigures&, int output);

/// Rows: 1, 2 and 5 times the powers of ten from 1 Hz to 1 MHz. Columns: gain and phase of the outputs,
/// balance, input impedance. Empty if it was not asked for or the rest point has no solution.
ValueTable response_table(const Record&);

}  // namespace antiphase
