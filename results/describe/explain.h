/// Why a design is what it is, in words and tables.
#pragma once

#include <string>
#include <vector>

#include "results/describe/value_table.h"
#include "results/report.h"

namespace antiphase {

/// Which limits bind, and with how much in hand. One sentence; empty for a record that was not explained.
std::vector<std::string> binding_in_words(const Record&);

/// Score and figures of the score for one value up and down of each part, as differences.
ValueTable step_table(const Record&, const Demands&);

/// What a search saw around a candidate and counts as the same design. One sentence; empty if it saw nothing.
std::string around_in_words(const Record&);

/// "It leads the next by 0.12 of score: distortion 0.15, output impedance -0.03." Empty for the last.
std::string lead_in_words(const Lead&, const Demands&, const std::string& next);

/// The lead of the first candidate, in which figure most of it lies, whether it is in doubt, and what binds,
/// in one sentence; empty for a record that was not explained.
std::string first_in_short(const Record& first, const Demands&);

/// What would have to give for a better score, a sentence each; or that nothing within two steps is better.
std::vector<std::string> loosenings_in_words(const Record&, const Demands&);

}  // namespace antiphase
