/// Designs of an earlier run, for a search that goes on from them.
#pragma once

#include <string>
#include <vector>

#include "configs/tube_library.h"
#include "objectives/design_problem.h"
#include "optimize/studies/trouble.h"

namespace antiphase {

/// The candidates and the front of a candidates.json, as far as they are designs of this problem: points of
/// its lattices, not judged. `file` is only a name for messages. Trouble: the text is damaged, or made for
/// another brief than that of the digest.
OrTrouble<std::vector<engine::Point>> known_designs(const std::string& text, const std::string& file,
                                                    const std::string& brief_digest,
                                                    const TubeLibrary& library, const DesignProblem& problem);

}  // namespace antiphase
