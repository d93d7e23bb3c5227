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

/// Why the field does not apply to the design: "has no meaning with a constant_current tail".
std::string why_not_applicable(const DesignField& field, const Design& design);

}  // namespace antiphase
