// One optimum of published constrained problems, by the engine's own parts in rounds. Sources of the optima:
// textbook_problems.h.
#include <doctest/doctest.h>

#include <atomic>
#include <cmath>

#include "tests/optimize/support/textbook_problems.h"
#include "tests/rivals/converge.h"

using namespace antiphase::engine;
using namespace antiphase::engine::rivals;
using namespace antiphase::engine::testing;

namespace {

std::vector<Textbook> constrained() {
  return {welded_beam(), pressure_vessel(), speed_reducer(), himmelblau_constrained()};
}

/// Excess over the published optimum, relative; infinite if nothing feasible was found.
double excess_cost(const Textbook& t, int evaluations, std::uint64_t seed) {
  MethodTask task;
  task.problem = &t.problem;
  task.evaluations = evaluations;
  task.seed = seed;
  const Found found = converge(task);
  CHECK(found.evaluations <= evaluations);
  if (!found.best->judged.feasible()) return HUGE_VAL;
  // What is claimed is what the judge says of that point.
  CHECK(t.problem.make_judge()(found.best->x).cost == found.best->judged.cost);
  return (found.best->judged.cost - t.optimum) / std::abs(t.optimum);
}

}  // namespace

TEST_CASE("5000 judgements come within 0.1 % of each published optimum in 20 of 20 seeds") {
  for (const Textbook& t : constrained())
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(t.name);
      CAPTURE(seed);
      const double excess = excess_cost(t, 5000, seed);
      CHECK(excess <= 1e-3);
      CHECK(excess >= -1e-6);  // optima are printed to seven digits
    }
}

TEST_CASE("10000 judgements come to the last printed digits in 20 of 20 seeds") {
  for (const Textbook& t : constrained())
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(t.name);
      CAPTURE(seed);
      CHECK(excess_cost(t, 10000, seed) <= 1e-6);
    }
}

TEST_CASE("levels and numbers that lean on each other are found together") {
  Textbook t{"whole and real",
             "",
             box({{0, 12}, {-5, 5}},
                 [](std::span<const double> x) {
                   return Judged{std::pow(x[0] - 3.4 * x[1], 2) + std::pow(x[1] - 2, 2) / 10, 0, {}};
                 }),
             0,
             {}};
  for (int n = 0; n <= 12; ++n) t.problem.axes[0].levels.push_back(n);
  // For a given n the least over c is (n - 6.8)^2 / (1 + 10 * 3.4^2) (completing the square); n = 7 wins.
  t.optimum = 0.2 * 0.2 / (1 + 10 * 3.4 * 3.4);
  for (std::uint64_t seed = 1; seed <= 5; ++seed) CHECK(excess_cost(t, 3000, seed) <= 1e-3);
}

TEST_CASE("the rounds repeat themselves and stop at the flag within one evaluation") {
  const Textbook t = pressure_vessel();  // levels and numbers
  std::atomic<bool> stop{false};
  int told = 0;
  MethodTask task;
  task.problem = &t.problem;
  task.evaluations = 3000;
  const Found first = converge(task), second = converge(task);
  CHECK(first.best->x == second.best->x);
  CHECK(first.evaluations == second.evaluations);
  for (const int most : {37, 1700}) {  // in the first population, and later
    told = 0;
    stop = false;
    task.stop = &stop;
    task.seen = [&](std::span<const double>, const Judged&) { stop = ++told >= most; };
    const Found found = converge(task);
    CHECK(found.evaluations == most);
    CHECK(found.ended == Ended::interrupted);
  }
}
