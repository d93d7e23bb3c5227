/// Every tube of a library tried for a brief, each alone.
#pragma once

#include <atomic>
#include <optional>

#include "configs/brief.h"
#include "configs/tube_library.h"
#include "results/describe/tube_ranking.h"

namespace antiphase {

/// One search per tube with the brief's own effort and seed, so that a search of the brief with that tube
/// alone gives the same design; ranked. The library must outlive the answer. `stop` ends it after the tubes
/// that are done. Progress on standard error unless `quiet`. Cost: a search a tube.
TubeRanking tubes_for_brief(const Brief& brief, const TubeLibrary& library, int threads, bool quiet,
                            const std::atomic<bool>& stop);

}  // namespace antiphase
