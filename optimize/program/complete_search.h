/// `antiphase search --complete`: every combination of the parts, after the normal search or alone.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "configs/brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/lattice/complete.h"
#include "results/report.h"

namespace antiphase {

struct CompleteArguments {
  bool asked = false;
  int slice = 1, slices = 1;
  std::vector<std::string> merge;  ///< folders with the findings of all slices; then nothing is gone through
  bool go_on = false;              ///< from the findings in the output folder
};

struct CompleteOutcome {
  int exit_code = 0;  ///< not 0: nothing was done, and the reason was told
  engine::CompleteFindings findings;
  bool finished = false;
  RunRecord::EveryCombination record;
  std::string continued_from;
  std::string file;  ///< text of complete.json
};

/// What speaks against going through so many combinations, in words: how long it would take on this machine
/// and what to narrow. Empty: nothing. More than kManyCombinations are gone through only with a time limit or
/// in slices.
inline constexpr double kManyCombinations = 1e9;
std::string too_many(const DesignProblem& problem, const CompleteArguments& arguments, int threads,
                     bool time_limited);

/// Goes through them, or puts slices together. The findings are written into the folder now and then.
CompleteOutcome search_every_combination(const Brief& brief, const DesignProblem& problem,
                                         const CompleteArguments& arguments, const std::string& folder,
                                         int threads, const engine::Watch& watch,
                                         const std::atomic<bool>& stop);

}  // namespace antiphase
