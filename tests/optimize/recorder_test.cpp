#include "optimize/engine/recorder.h"

#include <doctest/doctest.h>

using namespace antiphase::engine;

namespace {

/// x[0] is the cost, x[1] the violation.
Problem echo() {
  Problem p;
  p.axes = {Axis{"cost", -10, 10, false, {}}, Axis{"violation", 0, 10, false, {}}};
  p.make_judge = [] { return [](std::span<const double> x) { return Judged{x[0], x[1], {}}; }; };
  return p;
}

using Row = std::vector<double>;

}  // namespace

TEST_CASE("the recorder keeps the best feasible point, not the last and not the cheapest broken one") {
  const Problem p = echo();
  Recorder r(p, 100, nullptr);
  CHECK_FALSE(r.best());
  r.ask(Row{5, 0});
  r.ask(Row{1, 0.3});
  r.ask(Row{7, 0});
  CHECK(r.best()->x == Row{5, 0});
  CHECK(r.evaluations() == 3);
}

TEST_CASE("while nothing is feasible the recorder keeps the least violation") {
  const Problem p = echo();
  Recorder r(p, 100, nullptr);
  r.ask(Row{1, 0.3});
  r.ask(Row{9, 0.2});
  r.ask(Row{0, 0.4});
  CHECK(r.best()->x == Row{9, 0.2});
}

TEST_CASE("of equal judgements the recorder keeps the first x in order, whichever came first") {
  Problem p = echo();
  p.make_judge = [] { return [](std::span<const double>) { return Judged{}; }; };
  for (const bool forwards : {true, false}) {
    Recorder r(p, 100, nullptr);
    r.ask(forwards ? Row{1, 2} : Row{3, 4});
    r.ask(forwards ? Row{3, 4} : Row{1, 2});
    CHECK(r.best()->x == Row{1, 2});
  }
}

TEST_CASE("the budget and the stop flag close the door and say which it was") {
  const Problem p = echo();
  std::atomic<bool> stop{false};
  Recorder r(p, 2, &stop);
  CHECK(r.may_ask());
  CHECK(r.ended(Ended::converged) == Ended::converged);
  r.ask(Row{0, 0});
  stop = true;
  CHECK_FALSE(r.may_ask());
  CHECK(r.ended(Ended::converged) == Ended::interrupted);
  stop = false;
  CHECK(r.may_ask());
  r.ask(Row{0, 0});
  CHECK_FALSE(r.may_ask());
  CHECK(r.left() == 0);
  CHECK(r.ended(Ended::converged) == Ended::budget_spent);
}

TEST_CASE("every judged point is told on") {
  const Problem p = echo();
  double told = 0;
  Recorder r(p, 10, nullptr, [&](std::span<const double> x, const Judged& j) {
    CHECK(j.cost == x[0]);
    told += x[0];
  });
  r.ask(Row{1, 0});
  r.ask(Row{4, 1});
  CHECK(told == 5);
}
