#include "optimize/program/effort.h"

#include <array>

namespace antiphase {
namespace {
constexpr std::array<std::string_view, 3> kNames{"quick", "normal", "thorough"};
}

std::string_view name_of(Effort effort) {
  return kNames[static_cast<std::size_t>(effort)];
}

std::optional<Effort> effort_named(std::string_view name) {
  for (std::size_t i = 0; i < kNames.size(); ++i)
    if (kNames[i] == name) return static_cast<Effort>(i);
  return std::nullopt;
}

engine::SearchOptions options_for(Effort effort, std::uint64_t seed) {
  engine::SearchOptions options;
  options.seed = seed;
  const auto scale = [&](double factor) {
    const auto times = [factor](int n) { return static_cast<int>(n * factor); };
    options.global_evaluations_per_family = times(options.global_evaluations_per_family);
    options.local_evaluations = times(options.local_evaluations);
    options.lattice_evaluations_per_start = times(options.lattice_evaluations_per_start);
    options.front_evaluations_per_direction = times(options.front_evaluations_per_direction);
  };
  if (effort == Effort::quick) scale(0.3);
  if (effort == Effort::thorough) {
    scale(2);
    options.lattice_starts_per_family *= 2;
    options.front_directions *= 2;
    options.families_kept *= 2;
  }
  return options;
}

}  // namespace antiphase
