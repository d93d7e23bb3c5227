/// Brief files in: JSON to a typed brief, or everything that is wrong with it.
#pragma once

#include "configs/brief.h"
#include "configs/faults.h"
#include "configs/tube_library.h"

namespace antiphase {

OrFaults<Brief> read_brief(const std::string& file, const TubeLibrary& library);

/// The brief in words, one sentence each, for reports.
std::vector<std::string> brief_in_words(const Brief&);

}  // namespace antiphase
