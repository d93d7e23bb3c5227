#include "optimize/engine/lattice/steps.h"

#include <algorithm>
#include <cstdlib>

namespace antiphase::engine {
namespace {

constexpr std::size_t kAxesForWholeBlock = 5;  // 3^5 - 1 = 242 neighbours; 3^6 would be 728

struct Count {
  int axes = 0, longest = 0;
};

Count count(const Levels& move) {
  Count c;
  for (const int step : move) {
    if (step != 0) ++c.axes;
    c.longest = std::max(c.longest, std::abs(step));
  }
  return c;
}

/// Calls `use` with every move that has steps of up to `longest` on at most `most` of `axes`.
template <class Use>
void each(const std::vector<std::size_t>& axes, int most, int longest, Levels& move, std::size_t from,
          const Use& use) {
  if (most > 0)
    for (std::size_t a = from; a < axes.size(); ++a)
      for (int step = -longest; step <= longest; ++step) {
        if (step == 0) continue;
        move[axes[a]] = step;
        use(move);
        each(axes, most - 1, longest, move, a + 1, use);
        move[axes[a]] = 0;
      }
}

}  // namespace

Steps steps_of(const Problem& lattice) {
  std::vector<std::size_t> axes;
  for (std::size_t i = 0; i < lattice.axes.size(); ++i)
    if (lattice.axes[i].levels.size() > 1) axes.push_back(i);
  Steps steps;
  Levels move(lattice.axes.size(), 0);
  const auto is_near = [](const Count& c) { return c.axes == 1 || (c.axes == 2 && c.longest == 1); };
  for (int size = 1; size <= 3; ++size)  // singles by 1, pairs by 1, singles by 2
    each(axes, 2, 2, move, 0, [&](const Levels& m) {
      const Count c = count(m);
      const int mine = c.longest == 2 ? 3 : c.axes;
      if (is_near(c) && mine == size) steps.near.push_back(m);
    });
  const int block = axes.size() <= kAxesForWholeBlock ? static_cast<int>(axes.size()) : 3;
  each(axes, block, 1, move, 0, [&](const Levels& m) {
    if (!is_near(count(m))) steps.wide.push_back(m);
  });
  each(axes, 2, 2, move, 0, [&](const Levels& m) {
    const Count c = count(m);
    if (c.axes == 2 && c.longest == 2) steps.wide.push_back(m);
  });
  return steps;
}

}  // namespace antiphase::engine
