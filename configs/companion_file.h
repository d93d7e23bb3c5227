/// Files that stand beside a brief, so that both can be handed on together.
#pragma once

#include <string>

#include "configs/input_errors.h"
#include "configs/object_reader.h"

namespace antiphase {

/// Path of the file that a member names. Empty: it is no plain file name, and that is told.
std::string companion_path(const Cursor& member, const std::string& brief_file);

/// Tells the errors of that file at the member, with their places in the file.
void report_companion_errors(const Cursor& member, const InputErrors& errors);

}  // namespace antiphase
