#include "optimize/engine/lattice/enumerate.h"

#include <doctest/doctest.h>

using namespace antiphase::engine;

namespace {

Problem small() {
  Problem p;
  p.axes = {Axis{"a", 1, 3, false, {1, 2, 3}}, Axis{"b", 5, 5, false, {5}}, Axis{"c", 0, 1, false, {0, 1}}};
  p.make_judge = [] {
    return [](std::span<const double> x) { return Judged{100 * x[0] + 10 * x[1] + x[2], 0, {}}; };
  };
  return p;
}

}  // namespace

TEST_CASE("enumeration judges every point once, in lexicographic order") {
  const Enumerated all = enumerate(small(), 1000, nullptr);
  CHECK(all.ended == Ended::converged);
  CHECK(all.evaluations == 6);
  REQUIRE(all.fresh.size() == 6);
  const std::vector<double> want{150, 151, 250, 251, 350, 351};
  for (int i = 0; i < 6; ++i) CHECK(all.fresh.judged(i).cost == want[i]);
}

TEST_CASE("enumeration keeps to its budget, to a stop, and does nothing on an empty lattice") {
  const Enumerated part = enumerate(small(), 4, nullptr);
  CHECK(part.ended == Ended::budget_spent);
  CHECK(part.evaluations == 4);
  const std::atomic<bool> stop{true};
  CHECK(enumerate(small(), 100, &stop).ended == Ended::interrupted);
  CHECK(enumerate(Problem{}, 100, nullptr).evaluations == 0);
}
