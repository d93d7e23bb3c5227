/// Tubes as JSON: cards with the laws' errors beside the published points.
#pragma once

#include <string>
#include <vector>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// {"tubes": [ … ]} with one object a tube as in tube_json.
std::string tubes_json(const std::vector<const Tube*>& tubes);

/// One object: tube, also_known_as, ratings {name: {value, source}}, grid_conduction_v, capacitance_f,
/// models [{form, parameters, source}], published_points [{quantity, unit, plate_v, grid_v, published,
/// laws: [{value, error_pct}], source}]. SI units.
std::string tube_json(const Tube& tube);

}  // namespace antiphase
