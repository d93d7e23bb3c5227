// One contract, held against every method of the engine.
#include <doctest/doctest.h>

#include <array>
#include <atomic>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "optimize/engine/methods/differential_evolution.h"
#include "optimize/engine/methods/subspace_simplex.h"
#include "optimize/engine/order.h"
#include "optimize/engine/run_tasks.h"
#include "tests/optimize/support/textbook_problems.h"
#include "tests/optimize/support/valley.h"

using namespace antiphase::engine;
using namespace antiphase::engine::testing;

namespace {

enum class Reach { global, local };

struct Method {
  const char* name;
  Reach reach;
  Found (*run)(const MethodTask&);
};

constexpr std::array kMethods{Method{"differential_evolution", Reach::global, &differential_evolution},
                              Method{"subspace_simplex", Reach::local, &subspace_simplex}};

Problem valley_problem() {
  return valley_family(Valley(1), 3.2).ideal;
}

Problem with_judge(Problem problem, Judge judge) {
  problem.make_judge = [judge = std::move(judge)] { return judge; };
  return problem;
}

MethodTask task_of(const Problem& problem, int evaluations, std::uint64_t seed = 1) {
  MethodTask task;
  task.problem = &problem;
  task.evaluations = evaluations;
  task.seed = seed;
  return task;
}

bool same(const Found& a, const Found& b) {
  bool equal = a.ended == b.ended && a.evaluations == b.evaluations && a.best->x == b.best->x &&
               a.best->judged.cost == b.best->judged.cost && a.finalists.size() == b.finalists.size();
  for (std::size_t i = 0; equal && i < a.finalists.size(); ++i) equal = a.finalists[i].x == b.finalists[i].x;
  return equal;
}

}  // namespace

TEST_CASE("every method keeps its budget, its box and its count") {
  const Problem p = valley_problem();
  for (const Method& m : kMethods)
    for (const int budget : {0, 1, 2, 5, 13, 100, 999}) {
      CAPTURE(m.name);
      CAPTURE(budget);
      int told = 0;
      bool inside = true;
      Point best;
      MethodTask task = task_of(p, budget);
      task.seen = [&](std::span<const double> x, const Judged& j) {
        for (std::size_t i = 0; i < x.size(); ++i)
          inside = inside && x[i] >= p.axes[i].low && x[i] <= p.axes[i].high;
        Point point{{x.begin(), x.end()}, j, 0};
        if (told++ == 0 || better(point, best)) best = point;
      };
      const Found found = m.run(task);
      CHECK(inside);
      CHECK(told == found.evaluations);
      CHECK(found.evaluations <= budget);
      CHECK(found.best.has_value() == (budget > 0));
      if (found.best) CHECK(found.best->x == best.x);  // the best seen, not the last word
      if (found.evaluations == budget) CHECK(found.ended == Ended::budget_spent);
    }
}

TEST_CASE("every method gives the same answer again, in any thread, beside any other") {
  const Problem p = valley_problem();
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    std::vector<Found> alone(6), crowded(6);
    run_tasks(6, 1, [&](int t) { alone[t] = m.run(task_of(p, 400, static_cast<std::uint64_t>(t / 2))); });
    run_tasks(6, 4, [&](int t) { crowded[t] = m.run(task_of(p, 400, static_cast<std::uint64_t>(t / 2))); });
    for (int t = 0; t < 6; ++t) CHECK(same(alone[t], crowded[t]));
    CHECK(same(alone[0], alone[1]));
  }
}

TEST_CASE("every method ends no worse than its start") {
  const Problem p = valley_problem();
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    RandomNumbers random(1);
    for (int k = 0; k < 5; ++k) {
      MethodTask task = task_of(p, 150, random.bits());
      std::vector<double> start;
      for (const Axis& axis : p.axes) start.push_back(axis.low + random.unit() * (axis.high - axis.low));
      task.starts = {start};
      CHECK_FALSE(better(p.make_judge()(start), m.run(task).best->judged));
    }
  }
}

TEST_CASE("every method stops at the flag within one evaluation") {
  const Problem p = valley_problem();
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    std::atomic<bool> stop{false};
    int told = 0;
    MethodTask task = task_of(p, 100000);
    task.stop = &stop;
    task.seen = [&](std::span<const double>, const Judged&) { stop = ++told == 37; };
    const Found found = m.run(task);
    CHECK(found.evaluations == 37);
    CHECK(found.ended == Ended::interrupted);
    CHECK(found.best.has_value());
  }
}

TEST_CASE("every method survives a plateau of huge penalties with a small hole in it") {
  Problem p = with_judge(valley_problem(), [](std::span<const double> x) {
    const Judged j = Valley(1)(x);
    return x[1] > 60e3 && x[3] < 40e3 ? j : Judged{1e30, 1e30, {1e30, 1e30, 1e30}};
  });
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    const Found found = m.run(task_of(p, 1200));
    REQUIRE(found.best.has_value());
    CHECK(std::isfinite(found.best->judged.cost));
    if (m.reach == Reach::global) CHECK(found.best->judged.violation < 1);
  }
  // All plateau: nothing to find, and nothing to hang on.
  Problem flat = with_judge(valley_problem(), [](std::span<const double>) {
    return Judged{1e300, 1e300, {1e300, 1e300, 1e300}};
  });
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    const Found found = m.run(task_of(flat, 500));
    CHECK(found.evaluations <= 500);
    CHECK(found.best->judged.cost == 1e300);
  }
}

TEST_CASE("every method survives a judge that breaks its word with NaN and infinity") {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  for (const double bad : {nan, inf, -inf}) {
    Problem p = valley_problem();
    p.make_judge = [bad] {
      return [bad, calls = 0](std::span<const double> x) mutable {
        const Judged j = Valley(1)(x);
        return ++calls % 7 == 0 || x[1] < 50e3 ? Judged{bad, bad, {bad, bad, bad}} : j;
      };
    };
    for (const Method& m : kMethods) {
      CAPTURE(m.name);
      CAPTURE(bad);
      CHECK(m.run(task_of(p, 600)).evaluations <= 600);  // it comes back
    }
  }
}

TEST_CASE("what a judge throws comes out of every method unchanged") {
  struct Odd : std::exception {
    const char* what() const noexcept override { return "odd"; }
  };
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    Problem p = valley_problem();
    p.make_judge = [] {
      return [calls = 0](std::span<const double> x) mutable {
        if (++calls == 20) throw Odd();
        return Valley(1)(x);
      };
    };
    CHECK_THROWS_AS(m.run(task_of(p, 500)), Odd);
  }
}

TEST_CASE("every method copes with fixed axes, with one free axis and with none") {
  for (const Method& m : kMethods) {
    CAPTURE(m.name);
    Problem p = box({{3, 3}, {-1, 4}, {2, 2}}, [](std::span<const double> x) {
      return Judged{std::abs(x[1] - 1.25) + x[0] + x[2], 0, {}};
    });
    const Found found = m.run(task_of(p, 400));
    CHECK(found.best->x[0] == 3);
    CHECK(found.best->x[2] == 2);
    CHECK(std::abs(found.best->x[1] - 1.25) < 0.02);
    p.axes[1] = Axis{"x", 1, 1, false, {}};
    const Found point = m.run(task_of(p, 400));
    CHECK(point.best->x == std::vector<double>{3, 1, 2});
    CHECK(point.evaluations == 1);
    CHECK(point.ended == Ended::converged);
  }
}

TEST_CASE("a population method ends with its members, best first") {
  const Problem p = valley_problem();
  const Found found = differential_evolution(task_of(p, 600));
  REQUIRE(found.finalists.size() >= 12);
  for (std::size_t i = 1; i < found.finalists.size(); ++i)
    CHECK_FALSE(better(found.finalists[i], found.finalists[i - 1]));
  CHECK(found.finalists[0].judged.cost == found.best->judged.cost);
}
