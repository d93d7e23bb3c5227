// The two solvers of a cycle, unrolled by the compiler and by its tape, are held together: to the last bit.
#include "stagemodels/circuits/tape_solver.h"

#include <doctest/doctest.h>

#include <array>

#include "stagemodels/circuits/places.h"
#include "tests/support/random_stages.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// Every other pair gets a stage ahead, with all, some or none of its cathode resistor bridged, in ideal
/// surroundings: for those the chain's equations are unrolled.
Design some_stage(RandomStages& stages, RandomNumbers& dice) {
  Design d = stages.draw();
  if (d.circuit != CircuitKind::long_tailed_pair || dice.below(2) != 0) return d;
  d.circuit = CircuitKind::gain_and_splitter;
  if (d.main_supply_v > 0) d.supply_v = d.main_supply_v;
  d.main_supply_v = d.source_ohm = 0;
  FirstStage& f = d.first_stage;
  f.tube = d.tube[0];
  f.plate_ohm = dice.log_between(47e3, 220e3);
  f.cathode_ohm = dice.log_between(470, 4.7e3);
  f.cathode_unbypassed_ohm = dice.below(3) * 0.5 * f.cathode_ohm;
  return d;
}

bool same(const CycleSolver& of, const CycleState& a, const CycleState& b, int count) {
  for (int r = 0; r < of.form().nodes; ++r)
    for (int k = 0; k < count; ++k)
      if (!(a.x[r][k] == b.x[r][k])) return false;
  for (int y = 0; y < of.form().still; ++y)
    if (!(a.y[y] == b.y[y])) return false;
  return true;
}

/// Both solvers of a design, and a state of each.
struct Both {
  SolverRoom unrolled_room, taped_room;
  CycleSolver &unrolled, &taped;
  CycleState a, b;

  Both(const Design& d, const SolverWanted& wanted)
      : unrolled(*circuit(d.circuit).unrolled(d, wanted, unrolled_room)),
        taped(make_tape_solver(d, wanted, taped_room, nullptr)) {}

  /// @return whether the unrolled one settled.
  bool solve(const Instants& at, const DriveCondition& drive) {
    int steps_a = 0, steps_b = 0;
    const NewtonEnd end = unrolled.solve(at, drive, a, steps_a);
    CHECK(taped.solve(at, drive, b, steps_b) == end);
    CHECK(steps_a == steps_b);
    const bool settled = end == NewtonEnd::settled;
    if (settled) CHECK(same(unrolled, a, b, at.count));
    return settled;
  }
  void spread_rest(int count) {
    for (auto* s : {&a, &b})
      for (int r = 0; r < unrolled.form().nodes; ++r)
        for (int k = 1; k < count; ++k) s->x[r][k] = s->x[r][0];
  }
};

}  // namespace

TEST_CASE("a circuit's tape gives what its unrolled equations give, to the last bit") {
  RandomStages stages(20261201);
  RandomNumbers dice{std::mt19937_64(7)};
  std::array<int, 3> circuits{};
  int rests = 0, cycles = 0, levels = 0;
  for (int n = 0; n < 1500; ++n) {
    const Design d = some_stage(stages, dice);
    const Surroundings around = surroundings_of(d);
    const int count = around == Surroundings::real && dice.below(2) ? kFineInstants : kInstants;
    CAPTURE(n);
    Both both(d, {around, count, false});
    if (!both.unrolled.start_rest(false, both.a)) continue;
    both.b = both.a;
    if (!both.solve(rest_instant(), {.output = -1, .sign = 1, .value = 0})) continue;
    ++rests;
    ++circuits[static_cast<std::size_t>(d.circuit)];
    both.spread_rest(count);
    const Instants& at = cycle_instants(count);
    double drive = dice.between(0.1, 1);
    if (!both.solve(at, {.output = -1, .sign = 1, .value = drive})) continue;
    ++cycles;
    const double change = dice.between(0.1, 2);
    both.unrolled.predict(at, change, both.a);
    both.taped.predict(at, change, both.b);
    if (!both.solve(at, {.output = -1, .sign = 1, .value = drive += change})) continue;
    const CycleSolver::Form& form = both.unrolled.form();
    const int output = dice.below(form.outputs);
    if (both.solve(at, {.output = form.output_row[static_cast<std::size_t>(output)],
                        .sign = form.sign[static_cast<std::size_t>(output)],
                        .value = dice.between(1, 20)}))
      ++levels;
  }
  CHECK(rests >= 1000);
  CHECK(cycles >= 1000);
  CHECK(levels >= 800);
  for (const int seen : circuits) CHECK(seen >= 100);
}

TEST_CASE("a tape is made once for a form") {
  RandomStages stages(3);
  const Design d = stages.draw_ideal();
  SolverRoom one, two;
  const auto& a = dynamic_cast<TapeSolver&>(make_tape_solver(d, {}, one, nullptr));
  const auto& b = dynamic_cast<TapeSolver&>(make_tape_solver(d, {}, two, nullptr));
  CHECK(&a.tape() == &b.tape());
}
