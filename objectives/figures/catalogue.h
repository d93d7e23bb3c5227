/// The table of figures.
#pragma once

#include <span>
#include <string_view>

#include "objectives/figures/figure.h"

namespace antiphase {

std::span<const Figure> figures();
const Figure* find_figure(std::string_view name);  ///< null if unknown

}  // namespace antiphase
