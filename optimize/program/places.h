/// Where the program finds what comes with it, and how commands report trouble.
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

/// Prints the errors on standard error and gives the exit code that belongs to them.
int report_errors(const InputErrors& errors);

/// Writes text to standard output whole. False (with a message) if it could not be written.
bool print(const std::string& text);

}  // namespace antiphase
