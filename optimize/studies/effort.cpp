#include "optimize/studies/effort.h"

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

}  // namespace antiphase
