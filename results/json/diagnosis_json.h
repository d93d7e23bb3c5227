/// What is in a box, for scripts.
#pragma once

#include <string>

#include "results/describe/diagnosis.h"

namespace antiphase {

/// Members: safety, known, verdict (sentences), faults [{name, label, probability, before, unseen, sizes,
/// draws, effective_draws, pareto_k, what_to_do}], first_set, doubt_bits, readings [{name, label, read_v,
/// deviation_v, expected_v, low_v, quarter_v, three_quarters_v, high_v, below, out}], quantities [{name,
/// label, unit, drawn, low, quarter, middle, three_quarters, high, before_low, before_high, narrowed,
/// told_by}], next [{name, label, bits, low_v, high_v}], change {advice, part, from, to, figures}, grounds.
std::string diagnosis_json(const DiagnosisReport&);

}  // namespace antiphase
