#include "optimize/engine/passes.h"

namespace antiphase::engine {
namespace {

SearchOptions pass(double factor, std::uint64_t seed) {
  SearchOptions options;
  options.seed = seed;
  for (int* budget : {&options.global_evaluations_per_family, &options.local_evaluations,
                      &options.lattice_evaluations_per_start, &options.front_evaluations_per_direction})
    *budget = static_cast<int>(*budget * factor);
  return options;
}

}  // namespace

std::vector<SearchOptions> passes_for(Effort effort, std::uint64_t seed) {
  std::vector<SearchOptions> passes{pass(0.3, seed)};
  if (effort >= Effort::normal) passes.push_back(pass(0.45, seed));
  if (effort == Effort::thorough) {
    SearchOptions wide = pass(2, seed);
    wide.lattice_starts_per_family *= 2;
    wide.front_directions *= 2;
    wide.families_kept *= 2;
    passes.push_back(wide);
  }
  return passes;
}

}  // namespace antiphase::engine
