/// Files that stand beside a brief, so that both can be handed on together.
#pragma once

#include <string>

#include "configs/faults.h"
#include "configs/object_reader.h"

namespace antiphase {

/// Path of the file that a member names. Empty: it is no plain file name, and that is told.
std::string path_beside(const Cursor& member, const std::string& brief_file);

/// Tells the faults of that file at the member, with their places in the file.
void tell_of_file_beside(const Cursor& member, const Faults& faults);

}  // namespace antiphase
