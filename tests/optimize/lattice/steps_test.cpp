#include "optimize/engine/lattice/steps.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

using namespace antiphase::engine;

namespace {

Problem lattice_of(std::vector<int> counts) {
  Problem p;
  for (const int count : counts) {
    Axis axis{"a", 0, count - 1.0, false, {}};
    for (int i = 0; i < count; ++i) axis.levels.push_back(i);
    p.axes.push_back(axis);
  }
  return p;
}

}  // namespace

TEST_CASE("five axes have 60 near and 312 wide steps, all different and each with its opposite") {
  const Steps steps = steps_of(lattice_of({5, 5, 5, 5, 5}));
  CHECK(steps.near.size() == 5 * 4 + 10 * 4);  // singles by 1 and 2; 10 pairs in 4 signs
  // 3^5 - 1 less the 10 singles and 40 pairs that are near, and 10 pairs with 16 - 4 longer steps.
  CHECK(steps.wide.size() == 242 - 50 + 10 * 12);
  std::set<Levels> all(steps.near.begin(), steps.near.end());
  all.insert(steps.wide.begin(), steps.wide.end());
  CHECK(all.size() == steps.near.size() + steps.wide.size());
  for (Levels m : all) {
    for (int& step : m) step = -step;
    CHECK(all.contains(m));
  }
  CHECK_FALSE(all.contains(Levels(5, 0)));
}

TEST_CASE("an axis with one level never steps") {
  const Steps steps = steps_of(lattice_of({3, 1, 3}));
  CHECK(steps.near.size() == 2 * 4 + 4);
  CHECK(steps.wide.size() == 12);
  for (const auto* list : {&steps.near, &steps.wide})
    for (const Levels& m : *list) CHECK(m[1] == 0);
  CHECK(steps_of(lattice_of({1, 1})).near.empty());
}

TEST_CASE("with many axes the wide steps stay in number: triples instead of the whole block") {
  const Steps steps = steps_of(lattice_of(std::vector<int>(8, 4)));
  // 8 choose 3 triples in 8 signs, and 28 pairs with 12 longer steps.
  CHECK(steps.wide.size() == 56 * 8 + 28 * 12);
}

TEST_CASE("near steps come with the shortest first") {
  const Steps steps = steps_of(lattice_of({5, 5, 5}));
  const auto length = [](const Levels& m) {
    int axes = 0, longest = 0;
    for (const int step : m) {
      axes += step != 0;
      longest = std::max(longest, std::abs(step));
    }
    return 10 * longest + axes;
  };
  CHECK(std::is_sorted(steps.near.begin(), steps.near.end(),
                       [&](const Levels& a, const Levels& b) { return length(a) < length(b); }));
}
