/// Tolerance files in: JSON to typed tolerances, or everything that is wrong with them.
#pragma once

#include <functional>
#include <string>

#include "configs/input_errors.h"
#include "configs/object_reader.h"
#include "objectives/builds/tolerances.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// Reads a file of tolerances, every member optional: "resistor_pct", "capacitor_pct", "mains_pct",
/// "setting_pct", "plate_current_pct", "mu_pct" (half widths, %), "emission_left" (share), "parts", "mains",
/// "tubes" ("uniform" or "truncated_normal"), and "single": {"/plate_ohm/0": 0.5} for parts of their own.
/// `design` tells which parts there are.
OrErrors<Tolerances> read_tolerances(const std::string& file, const Design& design);

/// The same from an object of another file. applies: whether there is such a part.
Tolerances read_tolerances(const Cursor&, const std::function<bool(const DesignField&)>& applies);

/// The same from its text; `file` is only a name for messages.
OrErrors<Tolerances> read_tolerances_text(std::string text, const std::string& file, const Design& design);

}  // namespace antiphase
