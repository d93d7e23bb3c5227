/// Demands that conflict, in words.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "results/report.h"

namespace antiphase {

/// One of the demands. `row`: its name in the table of limits; of the target swing `is_swing` and the swing
/// asked for. `nearest`: the design that keeps the others and misses this one by least, if one was found;
/// `keeps_all_others`: those too that play no part in the conflict.
Conflict::Side conflict_side(const Demands& demands, std::string_view row, bool is_swing, double target_v,
                             std::optional<Record> nearest, bool keeps_all_others);

/// Sentences: what conflicts, one for each side, how sure it is. Empty without a conflict.
std::vector<std::string> conflict_in_words(const Conflict&);

/// The sentence of one side: what the others leave of it, and the design.
std::string side_in_words(const Conflict::Side&);

}  // namespace antiphase
