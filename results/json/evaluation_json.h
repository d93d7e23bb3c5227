/// Everything known about one design as JSON: what `evaluate --json` prints and every candidate carries.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

class JsonWriter;

/// Writes one object. Arrays have one entry per section (or output); what needs two outputs (balance,
/// the difference of the outputs) is left out for a stage with one. A figure that cannot be reached is null,
/// and a "reason" stands in the innermost object that holds such a null.
void write_evaluation(JsonWriter& json, const Record& record, const DesignFactors& factors);

/// The same as a file of its own, with a line feed at its end.
std::string evaluation_json(const Record& record, const DesignFactors& factors = {});

}  // namespace antiphase
