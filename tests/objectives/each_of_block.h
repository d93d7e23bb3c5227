/// Goes through the points of a block of a lattice, for what is to hold of each.
#pragma once

#include <cstddef>

#include "optimize/engine/lattice/levels.h"

namespace antiphase::testing {

/// Calls use(levels) for each, ends included, in lexicographic order.
template <class Use>
void each_of_block(const engine::Levels& low, const engine::Levels& high, Use&& use) {
  engine::Levels at = low;
  for (bool more = true; more;) {
    use(at);
    more = false;
    for (std::size_t i = at.size(); i-- > 0 && !more;) {
      more = ++at[i] <= high[i];
      if (!more) at[i] = low[i];
    }
  }
}

}  // namespace antiphase::testing
