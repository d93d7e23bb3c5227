/// Which kind of file a document is, told by its members before it is read.
#pragma once

#include <string>

#include "configs/json_document.h"

namespace antiphase {

enum class FileKind { brief, design };

/// If the document is clearly of another kind than the one that is wanted, one sentence that says which, and
/// which command takes it; empty otherwise.
std::string other_kind(const JsonValue& root, FileKind wanted);

}  // namespace antiphase
