/// Design files in: JSON to a typed design, or everything that is wrong with it.
#pragma once

#include "configs/input_errors.h"
#include "configs/tube_library.h"
#include "stagemodels/design.h"

namespace antiphase {

/// Reads a design. The layout is described in configs/schema/design.schema.json; which members
/// apply to which circuit and forms, and their ranges, stand in stagemodels/design_fields.h.
/// The tubes of the result belong to `library`, which must outlive it.
OrErrors<Design> read_design(const std::string& file, const TubeLibrary& library);

/// Reads a design from its text; `file` is only a name for messages.
OrErrors<Design> read_design_text(std::string text, const std::string& file, const TubeLibrary& library);

}  // namespace antiphase
