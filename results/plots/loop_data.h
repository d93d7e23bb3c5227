/// The numbers of the picture of a feedback loop.
#pragma once

#include "results/json/json_writer.h"
#include "results/report.h"

namespace antiphase {

/// Member `loop`: columns frequency_hz, gain_db and phase_deg (as loop_phase_deg); gain_margin [Hz, dB] and
/// phase_margin [Hz, degrees], or null where none is needed. Null without a loop gain.
void write_loop(JsonWriter&, const Record&);

}  // namespace antiphase
