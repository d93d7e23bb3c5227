/// Every tube of a library tried for a brief, each alone.
#pragma once

#include <atomic>

#include "configs/brief.h"
#include "configs/tube_library.h"
#include "optimize/engine/search.h"
#include "results/describe/tube_ranking.h"

namespace antiphase {

/// One search per tube with the brief's own effort and seed, so that a search of the brief with that tube
/// alone gives the same design; ranked. The library must outlive the answer. `watch` is shown all searches as
/// one. `stop` ends it after the tubes that are done. Cost: a search a tube.
TubeRanking tubes_for_brief(const Brief& brief, const TubeLibrary& library, int threads,
                            const engine::Watch& watch, const std::atomic<bool>& stop);

}  // namespace antiphase
