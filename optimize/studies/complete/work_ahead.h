/// How much work every combination of a brief's parts is.
#pragma once

#include <string>

#include "objectives/design_problem.h"

namespace antiphase {

/// So many are gone through without more ado; more only with a time limit or in slices.
inline constexpr double kManyCombinations = 1e9;

/// Whether there are so few that going through all of them takes no longer than about the search itself, so
/// that they are gone through unasked: three million where bounds drop blocks of them, or a hundred thousand.
bool few(const DesignProblem& problem);

/// What speaks against going through so many combinations, in words: how long it would take on this machine
/// and what to narrow. Empty: nothing. `slices` >= 1: into how many the work is cut. The problem has a family
/// at least. Cost: some thousand judgements where there are too many.
std::string too_many(const DesignProblem& problem, int slices, int threads, bool time_limited);

}  // namespace antiphase
