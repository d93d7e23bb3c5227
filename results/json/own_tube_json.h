/// Tubes that were read by themselves, as JSON.
#pragma once

#include <vector>

#include "results/json/json_writer.h"
#include "results/report.h"

namespace antiphase {

/// Member "own_tubes": a list; nothing is written if there are none.
void write_own_tubes(JsonWriter&, const std::vector<OwnTubeRecord>&);

}  // namespace antiphase
