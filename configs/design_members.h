/// Members of designs that briefs have too.
#pragma once

#include <string>

#include "configs/object_reader.h"
#include "configs/tube_library.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// The rule of a design's number: its unit and range.
NumberRule rule_of(const DesignField& field);

/// The tube a text names; an unknown one is reported with the nearest names of the library.
const Tube* read_tube_name(const Cursor& cursor, const TubeLibrary& library);

/// The output valve a text names; an unknown one is reported likewise.
const OutputValve* read_output_valve_name(const Cursor& cursor, const TubeLibrary& library);

/// The member "grid_clamp" of `in`. Reported where no form has it: `direct_coupled` false.
std::optional<bool> read_grid_clamp(ObjectReader& in, bool direct_coupled, const Design& design);

/// "has no meaning in a common_cathode stage".
std::string no_meaning_in(CircuitKind circuit);

/// Why the field does not apply to the design: "has no meaning with a constant_current tail".
std::string why_not_applicable(const DesignField& field, const Design& design);

}  // namespace antiphase
