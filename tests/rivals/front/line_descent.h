/// Goes down from one member along lines.
#pragma once

#include "tests/rivals/front/child_moves.h"
#include "tests/rivals/front/judgements.h"

namespace antiphase::engine::rivals::front {

/// Along lines, each through the best point so far: a step both ways, then the best place of parabolas
/// through the three judgements; or, for `scan`, places all along an axis. Better is less violation, then
/// what brings all objectives down in random proportion (Pascoletti & Serafini) or, for `slope` and one scan
/// in three, their weighted sum: that leads on along the front and past its ends. `move` is descent, slope or
/// scan. Gives how many of the children stayed.
int go_down(Member at, Move move, Judgements& judgements, const Population& population, Places& places,
            RandomNumbers& random);

}  // namespace antiphase::engine::rivals::front
