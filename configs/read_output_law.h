/// The law of a valve with a screen, or of a true triode, as cards give it, with the points it was fitted to.
#pragma once

#include <optional>

#include "configs/object_reader.h"
#include "stagemodels/tubes/output_law.h"

namespace antiphase {

/// What is wrong is reported at the cursor. Empty: its form is not known.
std::optional<OutputValveLaw> read_output_law(const Cursor& cursor);

}  // namespace antiphase
