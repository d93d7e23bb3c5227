/// Files of earlier runs that a search reads.
#pragma once

#include <string>
#include <vector>

#include "configs/tube_library.h"
#include "objectives/design_problem.h"
#include "optimize/studies/complete/complete_search.h"
#include "optimize/studies/other_results.h"
#include "optimize/studies/trouble.h"

namespace antiphase {

/// Designs of an earlier run, and the file that they come from.
struct EarlierDesigns {
  std::vector<engine::Point> points;
  std::string file;  ///< empty: there is none, and no points
};

/// Of the candidates.json in the folder, which may be missing; see known_designs.
OrTrouble<EarlierDesigns> read_earlier_designs(const std::string& folder, const std::string& brief_digest,
                                               const TubeLibrary& library, const DesignProblem& problem);

/// `place`: an output folder of a search, or a candidates.json.
OrTrouble<OtherResults> read_other_results(const std::string& place, const TubeLibrary& library);

/// The complete.json in the folder; trouble is told with its path.
OrTrouble<CompleteRead> read_complete_file(const std::string& folder, const DesignProblem& problem,
                                           const CompleteIdentity& expected);

/// Path of the complete.json in a folder.
std::string complete_file_in(const std::string& folder);

}  // namespace antiphase
