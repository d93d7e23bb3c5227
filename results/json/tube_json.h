/// Tubes as JSON: cards with the laws' errors beside the published points.
#pragma once

#include <string>
#include <vector>

#include "results/describe/tube_substitutes.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// {"tubes": [ … ]} with one object a tube as in tube_json.
std::string tubes_json(const std::vector<const Tube*>& tubes);

/// One object: tube, also_known_as, base {socket, basing, pins, source}, ratings {name: {value, source}},
/// grid_conduction_v, capacitance_f, models [{form, parameters, source}], published_points [{quantity, unit,
/// plate_v, grid_v, published, laws: [{value, error_pct}], source}], plate_currents of the first law {form,
/// plate_v, grid_v, plate_current_a: a list for each grid voltage}; of a pentode also pentode {form,
/// parameters, source, published_points}. SI units.
std::string tube_json(const Tube& tube);

/// {asked, rest_point {plate_v, plate_current_a, source} or null, measure, pin_compatible: [ … ], others:
/// [ … ]}; of each tube: tube, pin_compatible, to_change, distance, mu, gm_s, rp_ohm, heater, ratings,
/// grid_plate_f, ruled_out_by, differs. SI units.
std::string substitutes_json(const Substitutes&);

}  // namespace antiphase
