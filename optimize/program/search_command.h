/// `antiphase search`: the main job.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "optimize/program/cards_asked.h"

namespace antiphase {

/// `--complete` and what goes with it: every combination of the parts.
struct CompleteArguments {
  bool asked = false;
  int slice = 1, slices = 1;
  std::vector<std::string> merge;  ///< folders with the findings of all slices; then nothing is gone through
  bool go_on = false;  ///< from the results in the output folder; counts for the normal search too
};

struct SearchArguments {
  std::string brief_file;
  std::string out;  ///< output folder; empty: named after the brief, in the current folder
  CardsAsked tubes;
  std::vector<std::string> tube_readings;  ///< files with readings of one very tube each
  int threads = 0;                         ///< 0: all processors
  std::optional<std::uint64_t> seed;       ///< instead of the brief's
  std::optional<std::string> effort;       ///< likewise
  CompleteArguments complete;
  std::optional<double> time_limit_s;
  std::string against;   ///< folder or candidates.json of other results to compare with; empty: none
  bool plots = false;    ///< the main plots as SVG files too
  bool spread = false;   ///< also how builds of every candidate scatter
  bool explain = false;  ///< print everything and not only what is needed to decide
  bool json = false;
  bool quiet = false;
};

/// @return an exit code.
int run_search(const SearchArguments& arguments);

}  // namespace antiphase
