/// One design on a terminal of 80 columns; no colour.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// What `evaluate` prints: values, operating point, small signal, at the target with harmonics, clean
/// swing, hand estimate beside the solved figures, parts, limits with margins, safety line.
std::string evaluation_text(const Record&, const DesignFactors& factors = {});

/// Limits with their margins, the tightest first; broken ones are marked.
std::string limits_table(const Record&);

}  // namespace antiphase
