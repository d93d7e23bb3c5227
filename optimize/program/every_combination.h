/// The files of `antiphase search --complete` round the search through every combination.
#pragma once

#include <atomic>
#include <string>

#include "optimize/program/search_command.h"
#include "optimize/studies/complete/complete_search.h"

namespace antiphase {

/// Goes through the combinations, on from the findings in the folder if that was asked, and keeps the
/// findings there now and then; or puts the slices of other folders together.
OrTrouble<CompleteOutcome> go_through_every_combination(const CompleteArguments& arguments,
                                                        const Brief& brief, const DesignProblem& problem,
                                                        const std::string& folder, int threads,
                                                        const engine::Watch& watch,
                                                        const std::atomic<bool>& stop);

}  // namespace antiphase
