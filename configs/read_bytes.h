/// A whole file into memory.
#pragma once

#include <string>

#include "configs/input_errors.h"

namespace antiphase {

/// At most `most` + 1 bytes (so that the caller can tell that a file is too long, and a device
/// without end does no harm). Failure: an error with `unreadable` set and the system's reason.
OrErrors<std::string> read_bytes(const std::string& file, std::size_t most);

}  // namespace antiphase
