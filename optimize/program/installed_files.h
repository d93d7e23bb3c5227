/// Where the program finds what is installed with it.
#pragma once

#include <string>

#include "configs/input_errors.h"
#include "configs/tube_library.h"
#include "optimize/program/cards_asked.h"

namespace antiphase {

/// The tube cards that come with the program in ../share/antiphase/tubes beside it (in a build that is a link
/// to the source tree), and those of a folder of one's own, or these alone. Output valves: those in
/// the folder output_valves beside either; those that come with the program if there are no others.
OrErrors<TubeLibrary> read_library(const CardsAsked& asked);

/// The schema of briefs that comes with the program.
std::string brief_schema();

}  // namespace antiphase
