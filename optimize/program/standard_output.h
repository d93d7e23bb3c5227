/// Answers of commands.
#pragma once

#include <string>

namespace antiphase {

/// Writes text to standard output whole. False (with a message on standard error) if it could not be written.
bool print(const std::string& text);
/// The same of what people read: texts from files cannot act on their terminal (results/text/lines.h,
/// printable).
bool print_for_people(const std::string& text);

}  // namespace antiphase
