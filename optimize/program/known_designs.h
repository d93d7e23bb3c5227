/// Designs of an earlier run, for a search that goes on from them.
#pragma once

#include <string>
#include <vector>

#include "configs/tube_library.h"
#include "objectives/design_problem.h"

namespace antiphase {

struct KnownDesigns {
  std::vector<engine::Point> points;  ///< of the lattices; not judged
  std::string file;                   ///< they come from; empty: there was none
  std::string trouble;                ///< why the file is of no use, in words; empty: none
};

/// The candidates and the front in the folder's candidates.json, as far as they are designs of this problem.
/// Allowed: the file is missing. Trouble: it is damaged, or made for another brief.
KnownDesigns known_designs(const std::string& folder, const std::string& brief_digest,
                           const TubeLibrary& library, const DesignProblem& problem);

}  // namespace antiphase
