/// Where the program finds what is installed with it.
#pragma once

#include <string>

#include "configs/input_errors.h"
#include "configs/tube_library.h"

namespace antiphase {

/// Folder of the tube cards: `asked` if not empty, else ../share/antiphase/tubes beside the program (in a
/// build that is a link to the source tree).
std::string tube_folder(const std::string& asked);

/// The tube cards of tube_folder(asked), and the output valve cards beside them, or those that come with the
/// program if there are none beside them.
OrErrors<TubeLibrary> read_library(const std::string& asked);

}  // namespace antiphase
