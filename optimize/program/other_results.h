/// The best of other results, to be set beside that of this search.
#pragma once

#include <string>

#include "configs/tube_library.h"
#include "stagemodels/design.h"

namespace antiphase {

struct OtherResults {
  std::string file, title;
  Design best;          ///< the first candidate
  std::string trouble;  ///< why there is none, in words; empty: there is
};

/// `place`: an output folder of a search, or a candidates.json.
OtherResults other_results(const std::string& place, const TubeLibrary& library);

}  // namespace antiphase
