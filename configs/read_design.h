/// Design files in: JSON to a typed design, or everything that is wrong with it.
#pragma once

#include "configs/faults.h"
#include "configs/tube_library.h"
#include "stagemodels/design.h"

namespace antiphase {

OrFaults<Design> read_design(const std::string& file, const TubeLibrary& library);

}  // namespace antiphase
