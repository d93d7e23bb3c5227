/// The names of the efforts.
#pragma once

#include <optional>
#include <string_view>

#include "configs/brief.h"

namespace antiphase {

std::string_view name_of(Effort);
std::optional<Effort> effort_named(std::string_view);

}  // namespace antiphase
