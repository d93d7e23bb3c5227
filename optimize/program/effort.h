/// How hard to search: the three efforts as budgets of the engine.
#pragma once

#include <optional>
#include <string_view>

#include "configs/brief.h"
#include "optimize/engine/search.h"

namespace antiphase {

std::string_view name_of(Effort);
std::optional<Effort> effort_named(std::string_view);

engine::SearchOptions options_for(Effort effort, std::uint64_t seed);

}  // namespace antiphase
