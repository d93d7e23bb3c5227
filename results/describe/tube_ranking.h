/// Tubes ranked for a brief: what the best design of each alone reaches.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "results/report.h"

namespace antiphase {

struct TubeTrial {
  const Tube* tube = nullptr;
  bool in_brief = false;       ///< the brief itself allows it
  std::optional<Record> best;  ///< its best design, or nearest miss; empty: the ranges leave it none
  double violation = 0;        ///< of a miss: summed relative excess over the limits
  std::vector<std::string> stands_in_the_way;  ///< of a miss: the limits broken, or why there is no design
  std::vector<std::string> what_helps;         ///< sentences, each once
  bool met() const { return best && best->feasible && best->score; }
};

struct TubeRanking {
  std::string title, brief_file, effort;
  std::uint64_t seed = 0;
  Demands demands;
  std::vector<TubeTrial> trials;  ///< after ranked(): met ones by score with their rank, misses behind them
  std::size_t tubes = 0;          ///< in the library; more than `trials` if interrupted
  std::int64_t evaluations = 0;
};

/// Puts the trials in order (score, then name; misses by violation, then name), numbers those that are met
/// and marks ranks that hang on which credible law of a tube is right.
void rank_trials(TubeRanking&);

/// Fills what stands in the way of a nearest miss, and what helps, from the limits that it breaks.
void explain_miss(TubeTrial&);

}  // namespace antiphase
