/// What is in a box, for a terminal.
#pragma once

#include <string>

#include "results/describe/diagnosis.h"

namespace antiphase {

/// Within 80 columns; begins with the caution.
std::string diagnosis_text(const DiagnosisReport&);

}  // namespace antiphase
