/// The circuit of a design as a netlist for a general circuit simulator: plain SPICE element lines.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Made of the circuit's list alone: parts are called by their designators, everything else by the element's
/// name ("R_load_1"), nodes as the list names them (ground is 0). A triode is two behavioural current sources
/// with its law and its grid diode written out, and the capacitances of its card. What the design leaves open
/// of capacitors is 1 F, as good as a short; a feedback loop stands in comments, since it plays no part in
/// rest and gain. The source drives with AC 1 V and, over time, 1 kHz at the drive for the target where that
/// is solved. Of a tube whose law is a measured surface, which has no closed form, the first law of its card
/// that has one is written and a comment says so; without any, its section is left out and a comment says
/// that. Text from files stands in comments only, without control characters, so that it cannot become a
/// line.
std::string netlist(const Record&);

}  // namespace antiphase
