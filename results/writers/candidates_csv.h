/// candidates.csv and pareto.csv: one row a design, SI units.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Columns: rank (candidates only), score, feasible, remark, stage, tubes, forms, every member of
/// design_fields() that applies to one of the designs, every figure, (candidates only) both ends of
/// the bands of plate current, gain and distortion over draws of the tubes' types and whether the rank hangs
/// on the law, the limit with the least margin, and the safety caution (safety). Names end in their SI unit
/// (`plate_ohm_1`, `supply_current_a`; `gain` and fractions have none); sections count from 1. A cell is
/// empty where the member does not apply or the figure cannot be reached, and a band's where none was
/// worked out.
std::string candidates_csv(const Report&);
std::string pareto_csv(const Report&);

}  // namespace antiphase
