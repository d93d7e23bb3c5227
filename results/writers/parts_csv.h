/// What to buy, for a spreadsheet: a row a part.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Columns: rank, designator (of all pieces: "R5, R6", as in drawing and netlist), part, kind (tube,
/// resistor, capacitor, diode, sink), pieces, value (as it is printed on the part,
/// or the type), value_si and its unit, series, tolerance_pct, power_rest_w, power_worst_w, rated_w (the
/// least usual rating), voltage_worst_v, rated_v, derating (the rule by which the ratings were chosen),
/// heater_v, heater_a (of one tube, or of all on a supply), note; then type (film, wirewound, electrolytic),
/// in_circuit (no: beside the solved circuit, see parts_beside.h), proposed_si (the value of a capacitor that
/// the design leaves open), pins, and by cause what a piece has to bear (Burden): voltage_rest_v,
/// power_full_drive_w, voltage_full_drive_v, voltage_cold_v, power_switch_on_w, voltage_switch_on_v,
/// energy_switch_on_j, power_fault_w, voltage_fault_v, fault (which), rated_w_for and rated_v_for (the cause
/// that asks for the rating), rules (how each comes about), safety (the caution, in every row, so that it
/// stays with the parts however rows are sorted or cut out). Tubes stand first. Of every candidate.
std::string parts_csv(const Report&);

/// The same of one design, without rank.
std::string parts_csv(const Record&, const DesignFactors&, const Tolerances&);

}  // namespace antiphase
