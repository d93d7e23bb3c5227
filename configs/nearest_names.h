/// Which known names a mistyped one may have meant.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace antiphase {

/// Edits (letters added, dropped, changed, or two neighbours swapped) that turn one text into the
/// other; upper and lower case (ASCII) count as equal. The restricted Damerau-Levenshtein distance.
/// Source: F. J. Damerau, Comm. ACM 7 (1964) 171; L. Boytsov, J. Exp. Algorithmics 16 (2011) 1.1.
/// Cost: product of the lengths.
int edit_distance(std::string_view a, std::string_view b);

/// At most `count` of `known`, nearest first, ties in the order of `known`; only those near enough
/// to be a slip (a third of the letters, at least one; or one name beginning with the other).
std::vector<std::string> nearest_names(std::string_view name, const std::vector<std::string_view>& known,
                                       int count);

/// `; did you mean "x" or "y"?`, or nothing if there are none.
std::string did_you_mean(const std::vector<std::string>& names);

}  // namespace antiphase
