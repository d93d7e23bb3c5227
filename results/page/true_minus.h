/// Signs of numbers as they are set: with the true minus (U+2212), as the page's script writes them.
#pragma once

#include <string>
#include <string_view>

namespace antiphase {

/// The text with a minus for each hyphen that stands before a digit and behind nothing, a space or a bracket.
std::string with_true_minus(std::string_view text);

}  // namespace antiphase
