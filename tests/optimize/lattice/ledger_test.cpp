#include "optimize/engine/lattice/ledger.h"

#include <doctest/doctest.h>

#include <map>

#include "optimize/engine/random_numbers.h"

using namespace antiphase::engine;

namespace {

Problem lattice_of(int axes, int levels, int objectives) {
  Problem p;
  p.objectives = objectives;
  Axis axis{"a", 0, static_cast<double>(levels - 1), false, {}};
  for (int i = 0; i < levels; ++i) axis.levels.push_back(i);
  p.axes.assign(axes, axis);
  return p;
}

Levels draw(RandomNumbers& random, int axes, int levels) {
  Levels l(axes);
  for (int& v : l) v = random.below(levels);
  return l;
}

}  // namespace

TEST_CASE("the ledger agrees with an ordered map over thousands of points") {
  const Problem p = lattice_of(4, 9, 2);
  Ledger ledger(p);
  std::map<Levels, int> map;
  RandomNumbers random(1);
  for (int k = 0; k < 20000; ++k) {
    const Levels l = draw(random, 4, 9);
    const auto known = map.find(l);
    CHECK(ledger.find(l) == (known == map.end() ? -1 : known->second));
    const int entry = ledger.add(l, Judged{k * 1.0, 0, {k + 0.5, k + 0.25}});
    if (known == map.end()) {
      CHECK(entry == static_cast<int>(map.size()));
      map[l] = entry;
    } else {
      CHECK(entry == known->second);  // and the first judgement stays
    }
  }
  CHECK(ledger.size() == static_cast<int>(map.size()));
  for (const auto& [levels, entry] : map) {
    CHECK(ledger.levels(entry) == levels);
    const Judged j = ledger.judged(entry);
    CHECK(j.objective[0] == j.cost + 0.5);
    CHECK(j.objective[1] == j.cost + 0.25);
    CHECK(j.objective[2] == 0);
  }
}

TEST_CASE("ledgers are merged in order and doubles are left out") {
  const Problem p = lattice_of(2, 5, 1);
  Ledger a(p), b(p);
  a.add(Levels{0, 1}, Judged{1, 0, {}});
  a.add(Levels{2, 2}, Judged{2, 0, {}});
  b.add(Levels{2, 2}, Judged{2, 0, {}});
  b.add(Levels{4, 0}, Judged{3, 0.5, {}});
  a.add_all(b);
  REQUIRE(a.size() == 3);
  CHECK(a.levels(2) == Levels{4, 0});
  CHECK(a.judged(2).violation == 0.5);
}

TEST_CASE("an empty ledger knows nothing") {
  CHECK(Ledger{}.find(Levels{1}) == -1);
  CHECK(Ledger(lattice_of(1, 3, 1)).find(Levels{1}) == -1);
}
