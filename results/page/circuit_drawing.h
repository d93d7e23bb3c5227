/// The schematic of a design with its values and rest voltages, as inline SVG.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Lines take the colour of the text around; needs no script and no style sheet to be readable.
std::string circuit_drawing(const Record&);

}  // namespace antiphase
