// Methods against published optima.
#include <doctest/doctest.h>

#include "optimize/engine/methods/differential_evolution.h"
#include "optimize/engine/methods/subspace_simplex.h"
#include "tests/optimize/support/textbook_problems.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::engine;
using namespace antiphase::engine::testing;

namespace {

using Method = Found (*)(const MethodTask&);

Found run(Method method, const Problem& problem, int evaluations, std::uint64_t seed,
          std::vector<std::vector<double>> starts = {}) {
  MethodTask task;
  task.problem = &problem;
  task.evaluations = evaluations;
  task.seed = seed;
  task.starts = std::move(starts);
  return method(task);
}

/// Of ten seeds, how many end feasible and within `relative` of the published optimum.
int good(Method method, const Textbook& t, int evaluations, double relative) {
  int count = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const Found found = run(method, t.problem, evaluations, seed);
    count += found.best->judged.feasible() &&
             found.best->judged.cost - t.optimum <= relative * std::max(1.0, std::abs(t.optimum));
  }
  return count;
}

}  // namespace

TEST_CASE("the published optima are what the problems say they are") {
  for (const Textbook& t : {rosenbrock(), himmelblau(), himmelblau_constrained(), welded_beam(),
                            pressure_vessel(), speed_reducer()}) {
    CAPTURE(t.name);
    const Judged j = t.problem.make_judge()(t.at);
    // Points are printed to six digits or so: the cost agrees to five, and limits that are met exactly
    // are broken by no more than the same.
    CHECK(within(j.cost, t.optimum, 1e-5 * std::max(1.0, std::abs(t.optimum))));
    CHECK(j.violation < 1e-5);
  }
}

TEST_CASE("no method gets below a published optimum") {
  for (const Textbook& t : {himmelblau_constrained(), welded_beam(), pressure_vessel(), speed_reducer()})
    for (const Method method : {&differential_evolution, &subspace_simplex}) {
      CAPTURE(t.name);
      CAPTURE(method == &subspace_simplex);
      const Found found = run(method, t.problem, 6000, 1);
      // Optima are printed to seven digits.
      if (found.best->judged.feasible())
        CHECK(found.best->judged.cost >= t.optimum - 1e-6 * std::max(1.0, std::abs(t.optimum)));
    }
}

TEST_CASE("differential evolution reaches every optimum of the textbook from nowhere") {
  CHECK(good(&differential_evolution, himmelblau(), 1500, 1e-6) == 10);
  CHECK(good(&differential_evolution, rosenbrock(), 4000, 1e-3) == 10);
  CHECK(good(&differential_evolution, himmelblau_constrained(), 5000, 1e-5) >= 9);
  CHECK(good(&differential_evolution, welded_beam(), 10000, 1e-3) >= 9);
}

TEST_CASE("differential evolution finds the pressure vessel of standard plates in half of its runs") {
  // Two unknowns are multiples of 1/16: axes with levels. Each other choice of plates near by is a trap
  // (6090.53, 6370.78 and 6410.09 are the usual ones); a continuous method alone is not enough here.
  CHECK(good(&differential_evolution, pressure_vessel(), 10000, 1e-5) >= 5);
  CHECK(good(&differential_evolution, pressure_vessel(), 10000, 0.06) == 10);
}

TEST_CASE("the subspace simplex runs down a smooth valley") {
  const Textbook t = rosenbrock();
  const std::vector<double> start{-1.2, 1, 1};  // cost 24.2
  CHECK(run(&subspace_simplex, t.problem, 8000, 1, {start}).best->judged.cost <
        0.1);  // slow in curved valleys
  CHECK(run(&subspace_simplex, himmelblau().problem, 600, 1, {{1, 1}}).best->judged.cost < 1e-8);
}

TEST_CASE("the subspace simplex polishes a point against its limits and stays inside them") {
  // Starts 2 % off the optimum in every unknown, and has to come within 0.2 %.
  for (const Textbook& t : {himmelblau_constrained(), welded_beam()}) {
    CAPTURE(t.name);
    std::vector<double> start = t.at;
    for (std::size_t i = 0; i < start.size(); ++i)
      start[i] = std::clamp(start[i] * 1.02, t.problem.axes[i].low, t.problem.axes[i].high);
    const Found found = run(&subspace_simplex, t.problem, 3000, 1, {start});
    REQUIRE(found.best->judged.feasible());
    CHECK(found.best->judged.cost <= t.optimum + 0.002 * std::abs(t.optimum));
  }
}
