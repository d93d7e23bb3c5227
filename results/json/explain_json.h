/// Explanations, conflicts and choices as JSON.
#pragma once

#include "results/json/json_writer.h"
#include "results/report.h"

namespace antiphase {

/// Member "explanation" of a candidate: binding, steps, lead_over_next, loosenings. Nothing if it was not
/// explained.
void write_explanation(JsonWriter& json, const Record&, const Demands&);

/// Members "conflict", "choices", "tubes" and "against" of a report, as far as there are any.
void write_answers(JsonWriter& json, const Report&);

}  // namespace antiphase
