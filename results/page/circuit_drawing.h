/// The schematic of a design with its parts, values and rest voltages, as inline SVG.
#pragma once

#include <string>

#include "results/page/schematic.h"
#include "results/report.h"

namespace antiphase {

/// Paints the picture that the design's circuit gives (stagemodels/circuits/picture.h): every part that
/// stands in the design with its designator and value; voltages and currents at rest where the rest point is
/// solved. Lines take the colour of the text around; needs no script and no style sheet to be readable.
/// Allowed: a design within its ranges; its evaluation to any depth.
std::string circuit_drawing(const Record&);

/// The same before it becomes text.
Schematic schematic_of(const Record&);

/// The circuit for the bench: designators, values, and the numbers of the test points ("TP2") in place of
/// voltages (objectives/diagnosis/test_points.h); what is written below the other is left out.
std::string test_point_drawing(const Record&);
Schematic test_point_schematic(const Record&);

}  // namespace antiphase
