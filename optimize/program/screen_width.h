/// How wide the terminal is that answers go to.
#pragma once

#include <cstddef>

namespace antiphase {

/// Columns for an answer: those of the terminal that standard output is, or what the variable COLUMNS says,
/// but 80 at most (longer lines are hard to read) and 40 at least (no table fits less). 80 where neither is
/// known, as when the answer goes into a file.
std::size_t screen_width();

}  // namespace antiphase
