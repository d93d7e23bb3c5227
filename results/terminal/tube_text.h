/// Tubes on a terminal of 80 columns: the library, and one tube with its points against its laws.
#pragma once

#include <string>
#include <vector>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// One line a tube: mu, gm, plate resistance and current at its largest published point, the main
/// ratings, and how well its law meets the published points.
std::string tubes_table(const std::vector<const Tube*>& tubes);

/// Ratings with sources, laws with sources, and every published number against each law.
std::string tube_text(const Tube& tube);

}  // namespace antiphase
