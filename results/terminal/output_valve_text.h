/// Output valves on a terminal.
#pragma once

#include <list>
#include <string>

#include "stagemodels/tubes/output_valve.h"

namespace antiphase {

/// One line that names them all; empty if there are none.
std::string output_valves_line(const std::list<OutputValve>& valves);

/// One valve: how it is run, what its grid circuit may be, when its grid conducts.
std::string output_valve_text(const OutputValve& valve);

}  // namespace antiphase
