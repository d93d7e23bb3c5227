/// What an evaluation says beyond rest and target: bands, two tones, level, overdrive, frequency.
#pragma once

#include "results/report.h"

namespace antiphase {

class JsonWriter;

/// Each writes one member of the object that is open, under the name it has in files. Nulls and reasons as in
/// evaluation_json.h.
void write_law_bands(JsonWriter&, const Record&);
void write_two_tones(JsonWriter&, const Record&);
void write_level_curve(JsonWriter&, const Record&);
void write_overdrive(JsonWriter&, const Record&);
void write_frequency(JsonWriter&, const Record&);

}  // namespace antiphase
