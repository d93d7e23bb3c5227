/// The answer of a search for a terminal; no colour. `screen`: how many columns there are; no line is longer
/// but for words that are.
#pragma once

#include <cstddef>
#include <string>

#include "results/report.h"

namespace antiphase {

inline constexpr std::size_t kPlainScreen = 80;  ///< columns of any terminal, and of what goes into a file

/// Two tables with the same ranks: what to build, and what it does. At most `most` candidates.
std::string ranked_table(const Report&, int most = 20, std::size_t screen = kPlainScreen);

/// The ends of the trade-off and its knee, one design each in words.
std::string pareto_summary(const Report&, std::size_t screen = kPlainScreen);

/// What is needed to decide: what stands in the way if nothing satisfies the brief, cautions, the tables,
/// what stands behind the first in a sentence, how the search ended if not by itself, and the safety line.
std::string short_report_text(const Report&, std::size_t screen = kPlainScreen);

/// All that there is to say: the same with the bands from law to law, the trade-off, the best of each tube
/// and why the first is first.
std::string report_text(const Report&, std::size_t screen = kPlainScreen);

}  // namespace antiphase
