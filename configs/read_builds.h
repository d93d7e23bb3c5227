/// The "builds" of a brief: how builds count in the ranking.
#pragma once

#include <functional>
#include <string>

#include "configs/brief.h"
#include "configs/object_reader.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

/// applies: whether some design of the brief has the part. The variables have been read before. Gives the
/// bytes of a file of tolerances beside the brief, empty if there is none.
std::string read_builds(const Cursor& cursor, const std::string& brief_file,
                        const std::function<bool(const DesignField&)>& applies, Brief& brief);

}  // namespace antiphase
