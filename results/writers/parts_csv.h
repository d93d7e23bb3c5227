/// What to buy, for a spreadsheet: a row a part.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Columns: rank, designator (of all pieces: "R5, R6", as in drawing and netlist), part, kind (tube,
/// resistor, capacitor, diode, sink), pieces, value (as it is printed on the part,
/// or the type), value_si and its unit, series, tolerance_pct, power_rest_w, power_worst_w, rated_w (the
/// least usual rating), voltage_worst_v, rated_v, derating (the rule by which the ratings were chosen),
/// heater_v, heater_a (of one tube), note. Tubes stand first. Of every candidate.
std::string parts_csv(const Report&);

/// The same of one design, without rank.
std::string parts_csv(const Record&, const DesignFactors&, const Tolerances&);

}  // namespace antiphase
