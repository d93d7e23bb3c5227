/// A figure of the catalogue as people read it.
#pragma once

#include <string>

#include "objectives/figures/figure.h"

namespace antiphase {

/// True if `value` stands for a corner that the response has not, not for a frequency: "none" for people.
bool is_no_corner(std::string_view figure, double value);

/// "0.42 %", "48.2 kΩ", "none".
std::string figure_text(const Figure&, double value, int digits = 3);

/// The same of a figure or limit by its name in files.
std::string named_figure_text(std::string_view figure, double value, std::string_view unit, int digits = 3);

}  // namespace antiphase
