#include "optimize/engine/lattice/descent.h"

#include <doctest/doctest.h>

#include <set>

#include "optimize/engine/lattice/enumerate.h"
#include "optimize/engine/random_numbers.h"
#include "tests/optimize/support/valley.h"

using namespace antiphase::engine;
using antiphase::engine::testing::Valley;
using antiphase::engine::testing::valley_lattice;

namespace {

struct Best {
  Levels levels;
  Judged judged;
};

Best exact_best(const Problem& lattice) {
  const Ledger all = enumerate(lattice, 1 << 30, nullptr).fresh;
  int best = 0;
  const auto key = [&](int e) {
    const Judged j = all.judged(e);
    return std::tuple(!j.feasible(), j.feasible() ? j.cost : j.violation, j.cost, all.levels(e));
  };
  for (int e = 1; e < all.size(); ++e)
    if (key(e) < key(best)) best = e;
  return {all.levels(best), all.judged(best)};
}

Levels random_levels(const Problem& lattice, RandomNumbers& random) {
  Levels levels;
  for (const Axis& axis : lattice.axes) levels.push_back(random.below(static_cast<int>(axis.levels.size())));
  return levels;
}

}  // namespace

TEST_CASE("descents from random starts find the exact best of kinked valleys nearly always") {
  // 24 valleys of some 16 000 points, 4 random starts each with 2500 judgements (a sixth of the points).
  int exact = 0, valley_exact = 0, points = 0;
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    const Problem lattice = valley_lattice(Valley(seed), 1.45);
    points = static_cast<int>(lattice_size(lattice));
    const Best best = exact_best(lattice);
    RandomNumbers random(seed);
    bool any = false;
    for (int start = 0; start < 4; ++start) {
      DescentTask task;
      task.lattice = &lattice;
      task.start = random_levels(lattice, random);
      task.evaluations = 2500;
      task.seed = task_seed(seed, static_cast<std::uint64_t>(start));
      const DescentFound found = descend(task);
      const bool hit = found.best == best.levels;
      exact += hit;
      any |= hit;
      CHECK(found.best_judged.cost >= best.judged.cost);
    }
    valley_exact += any;
  }
  MESSAGE(points << " points a valley: exact in " << exact << " of 96 descents, " << valley_exact
                 << " of 24 valleys");
  CHECK(exact >= 90);
  CHECK(valley_exact == 24);
}

TEST_CASE("a descent keeps its budget and never judges a point twice") {
  const Problem lattice = valley_lattice(Valley(3), 1.45);
  for (const int budget : {0, 1, 7, 500}) {
    std::set<std::vector<double>> judged;
    int told = 0;
    DescentTask task;
    task.lattice = &lattice;
    task.start = Levels{0, 0, 0, 0, 0};
    task.evaluations = budget;
    task.seen = [&](std::span<const double> x, const Judged&) {
      ++told;
      judged.emplace(x.begin(), x.end());
    };
    const DescentFound found = descend(task);
    CHECK(found.evaluations == budget);
    CHECK(told == budget);
    CHECK(judged.size() == static_cast<std::size_t>(budget));
    CHECK(found.fresh.size() == budget);
    CHECK(found.ended == Ended::budget_spent);
    CHECK(found.best.empty() == (budget == 0));
  }
}

TEST_CASE("on a small lattice the descent ends by itself, at the exact best") {
  Problem lattice = valley_lattice(Valley(4), 1.12);
  REQUIRE(lattice_size(lattice) < 500);
  DescentTask task;
  task.lattice = &lattice;
  task.start = Levels{0, 0, 0, 0, 0};
  task.evaluations = 100000;
  const DescentFound found = descend(task);
  CHECK(found.ended == Ended::converged);
  CHECK(found.evaluations <= static_cast<int>(lattice_size(lattice)));
  CHECK(found.best == exact_best(lattice).levels);
}

TEST_CASE("known points are not charged and lead to the same place") {
  const Problem lattice = valley_lattice(Valley(5), 1.45);
  const Ledger all = enumerate(lattice, 1 << 30, nullptr).fresh;
  DescentTask task;
  task.lattice = &lattice;
  task.start = Levels{0, 0, 0, 0, 0};
  task.evaluations = 400;
  const DescentFound fresh = descend(task);
  task.known = &all;
  const DescentFound known = descend(task);
  CHECK(known.evaluations == 0);
  CHECK(known.fresh.size() == 0);
  CHECK(known.ended == Ended::converged);
  CHECK(known.best_judged.cost <= fresh.best_judged.cost);
}

TEST_CASE("the same task gives the same points in the same order") {
  const Problem lattice = valley_lattice(Valley(6), 3.2);
  DescentTask task;
  task.lattice = &lattice;
  task.start = Levels{5, 20, 3, 9, 1};
  task.evaluations = 800;
  task.seed = 42;
  const DescentFound a = descend(task), b = descend(task);
  REQUIRE(a.fresh.size() == b.fresh.size());
  for (int e = 0; e < a.fresh.size(); ++e) CHECK(a.fresh.levels(e) == b.fresh.levels(e));
  CHECK(a.best == b.best);
}

TEST_CASE("a descent lowers the merit it is given among points that keep the limits") {
  const Problem lattice = valley_lattice(Valley(7), 1.45);
  const Ledger all = enumerate(lattice, 1 << 30, nullptr).fresh;
  double least = 1e300;
  for (int e = 0; e < all.size(); ++e)
    if (all.judged(e).feasible()) least = std::min(least, all.judged(e).objective[1]);
  DescentTask task;
  task.lattice = &lattice;
  task.start = exact_best(lattice).levels;
  task.evaluations = 3000;
  task.merit = [](const Judged& j) { return j.objective[1]; };
  const DescentFound found = descend(task);
  CHECK(found.best_judged.feasible());
  CHECK(found.best_judged.objective[1] == least);
}

TEST_CASE("where no point keeps the limits the descent finds the least violation") {
  Problem lattice = valley_lattice(Valley(8), 1.45);
  lattice.make_judge = [] {
    return [valley = Valley(8)](std::span<const double> x) {
      Judged j = valley(x);
      j.violation += 0.1 + 0.01 * j.objective[2];
      return j;
    };
  };
  DescentTask task;
  task.lattice = &lattice;
  task.start = Levels{0, 0, 0, 0, 0};
  task.evaluations = 4000;
  const DescentFound found = descend(task);
  CHECK_FALSE(found.best_judged.feasible());
  CHECK(found.best == exact_best(lattice).levels);
}

TEST_CASE("a flat lattice and one with a single point end quietly") {
  Problem flat = valley_lattice(Valley(9), 1.2);
  flat.make_judge = [] { return [](std::span<const double>) { return Judged{1, 0, {}}; }; };
  DescentTask task;
  task.lattice = &flat;
  task.start = Levels{1, 1, 1, 1, 1};
  task.evaluations = 3000;
  CHECK(descend(task).best == Levels{0, 0, 0, 0, 0});  // equal everywhere: the first in order
  for (Axis& axis : flat.axes) axis.levels.resize(1);
  task.start = Levels{0, 0, 0, 0, 0};
  const DescentFound single = descend(task);
  CHECK(single.evaluations == 1);
  CHECK(single.ended == Ended::converged);
}
