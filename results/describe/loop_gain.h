/// The loop gain of overall feedback against frequency, for pictures and tables.
#pragma once

#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// A budget of feedback is asked for, and its loop gain is known at every frequency of the curve.
bool has_loop_gain(const Record&);

/// Size of the loop gain T in dB, one entry per point of the curve. Allowed: a record that has_loop_gain().
std::vector<double> loop_gain_db(const Record&);

/// Phase of T in degrees, without jumps and near 0 at mid-band, where T is positive: the feedback turns round
/// at -180 (treble) and +180 (bass). Entries and allowed records as above.
std::vector<double> loop_phase_deg(const Record&);

/// Rows: 1, 2 and 5 times the powers of ten from 0.1 Hz to 1 MHz. Columns: gain and phase of the loop. The
/// margins are told below. Empty without a loop gain.
ValueTable loop_gain_table(const Record&);

}  // namespace antiphase
