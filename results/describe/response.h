/// The linearised stage against frequency, for pictures and tables.
#pragma once

#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// The response is known and every output has a gain at every frequency of the curve.
bool has_response(const Record&);

/// Phase of one output against its own mid-band, in degrees, without jumps. One entry per point of the curve.
/// Allowed: a stage that has_response().
std::vector<double> phase_from_midband_deg(const FrequencyFigures&, int output);

/// Rows: 1, 2 and 5 times the powers of ten from 1 Hz to 1 MHz. Columns: gain and phase of the outputs,
/// balance, input impedance. Empty without a response.
ValueTable response_table(const Record&);

}  // namespace antiphase
