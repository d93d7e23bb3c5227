/// Output valves as JSON.
#pragma once

#include <string>

#include "stagemodels/tubes/output_valve.h"

namespace antiphase {

/// One object: output_valve, also_known_as, grid_conduction_v, grid_current, grid_leak_ohm_max,
/// capacitance_f, input_f, conditions [{connection, class, plate_v, …, source}]. SI units; what is not
/// published is left out.
std::string output_valve_json(const OutputValve& valve);

}  // namespace antiphase
