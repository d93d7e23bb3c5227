/// Published parameter sets as tubes, built here so that these tests need no card and no reader.
#pragma once

#include <span>

#include "stagemodels/tubes/tube.h"

namespace antiphase::reference {

/// Laws of all three forms; at least one with grid current. Lives as long as the program.
std::span<const Tube> published_tubes();

/// The one of that name. Must exist.
const Tube& published_tube(std::string_view name);

}  // namespace antiphase::reference
