/// The answer of a search for a terminal of 80 columns; no colour.
#pragma once

#include <string>

#include "results/report.h"

namespace antiphase {

/// Two tables with the same ranks: what to build, and what it does. At most `most` candidates.
std::string ranked_table(const Report&, int most = 20);

/// The ends of the trade-off and its knee, one design each in words.
std::string pareto_summary(const Report&);

/// What a search prints when it is done: title, tables, trade-off, what stands in the way if nothing
/// satisfies the brief, how the search ended, and the safety line.
std::string report_text(const Report&);

}  // namespace antiphase
