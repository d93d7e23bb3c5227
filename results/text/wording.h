/// Pieces of sentences: lists of words, and text from files made safe to show.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace antiphase {

/// Text from a file made safe to show: control characters as \u00XX, long texts cut with an ellipsis.
std::string shown(std::string_view text);

/// The same in double quotes.
std::string in_quotes(std::string_view text);

/// `"a"`, `"a" or "b"`, `"a", "b" or "c"`.
std::string one_of(const std::vector<std::string_view>& names);

/// The parts one after another, `between` between any two.
std::string joined(const std::vector<std::string>& parts, std::string_view between);

/// `a`, `a and b`, `a, b and c`; and with "or". Without quotes.
std::string all_of(const std::vector<std::string>& parts);
std::string any_of(const std::vector<std::string>& parts);

}  // namespace antiphase
