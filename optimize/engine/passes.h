/// How hard to search: efforts as passes of the search.
#pragma once

#include <cstdint>
#include <vector>

#include "optimize/engine/search.h"

namespace antiphase::engine {

enum class Effort { quick, normal, thorough };

/// An effort begins with the passes of the smaller ones: with the same seed, more effort never gives a worse
/// best.
std::vector<SearchOptions> passes_for(Effort effort, std::uint64_t seed);

}  // namespace antiphase::engine
