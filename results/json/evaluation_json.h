/// Everything known about one design as JSON: what `evaluate --json` prints and every candidate carries.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

class JsonWriter;

inline constexpr int kCurveDigits = 5;

/// Writes one object. Arrays have one entry per section (or output); what needs two outputs (balance,
/// the difference of the outputs) is left out for a stage with one. A figure that cannot be reached is null,
/// and a "reason" stands in the innermost object that holds such a null. Points of curves (`level_curve`,
/// `frequency.curve`) carry kCurveDigits significant digits. What concerns the output valves' grids is left
/// out of the single drives of `overdrive` if no output valve is named.
void write_evaluation(JsonWriter& json, const Record& record, const DesignFactors& factors);

/// The same as a file of its own, with a line feed at its end.
std::string evaluation_json(const Record& record, const DesignFactors& factors = {});

}  // namespace antiphase
