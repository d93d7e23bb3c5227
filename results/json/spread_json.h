/// How builds of a design scatter, for programs.
#pragma once

#include <string>

#include "results/describe/spread.h"
#include "results/json/json_writer.h"

namespace antiphase {

/// Members: builds, seed, brief, varied [{name, label, half_width_pct, scatter}], yield {…}, figures
/// [{name, unit, nominal, low, median, high, least, most, mean, deviation, builds, index {…}}],
/// limits_broken, tightened, corners, selected, measuring_sheet {safety, rest, levels, faults}. The same
/// bytes for any number of threads.
std::string spread_json(const SpreadReport&);

/// For a candidate among others, as members of an open object: builds, yield {…}, figures (without index) and
/// measuring_sheet.
void write_spread_members(JsonWriter&, const SpreadReport&);

}  // namespace antiphase
