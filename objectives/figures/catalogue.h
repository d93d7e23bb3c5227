/// The table of figures.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "objectives/figures/figure.h"

namespace antiphase {

std::span<const Figure> figures();
const Figure* find_figure(std::string_view name);  ///< null if unknown

/// Those that have a place in a table, in the order of their places. Allocates.
std::vector<const Figure*> figures_shown_in(int FigurePlaces::*table);

}  // namespace antiphase
