/// The "parts" of a brief.
#pragma once

#include <string>

#include "configs/object_reader.h"
#include "objectives/design_space.h"

namespace antiphase {

/// Series of resistors and capacitors, parts of their own, or a file of parts on hand beside the brief. The
/// variables have been read before. Gives the bytes of that file, empty if there is none.
std::string read_parts(const Cursor& cursor, const std::string& brief_file, DesignSpace& space);

}  // namespace antiphase
