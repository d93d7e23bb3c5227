// Source resistance, dropping resistor and output valves' grids: Kirchhoff's law and the limits where they
// vanish.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/solve/instants.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Tube conducting_tube() {
  Tube t = tube_with(kKoren12AX7, -0.9);
  t.grid_diode = grid_diode(-0.9);
  return t;
}

double mean_of(const Row& row, int count = kInstants) {
  double sum = 0;
  for (int k = 0; k < count; ++k) sum += cycle_instants(count).mean[k] * row[k];
  return sum;
}

constexpr std::array kBiasForms{BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail};

}  // namespace

TEST_CASE("surroundings that are next to nothing change next to nothing") {
  const Tube tube = conducting_tube();
  for (CircuitKind kind : {CircuitKind::long_tailed_pair, CircuitKind::common_cathode})
    for (BiasForm bias : kBiasForms) {
      Design ideal = pair_of(tube, bias), real = ideal;
      ideal.circuit = real.circuit = kind;
      ideal.cathode_ohm = real.cathode_ohm = 1500;
      real.source_ohm = 1e-3;
      real.main_supply_v = ideal.supply_v;
      real.dropping_ohm = 1e-3;
      Evaluation a, b;
      evaluate(ideal, Depth::full, a);
      evaluate(real, Depth::full, b);
      REQUIRE(a.at_target.solved == Solved::yes);
      REQUIRE(b.at_target.solved == Solved::yes);
      // a milliohm of the source per ohm of the grid circuit, and of the supply per ohm of the plates
      CHECK(within_ratio(b.at_target.input_peak_v, a.at_target.input_peak_v, 1e-6));
      CHECK(within(b.at_target.thd_pct[0], a.at_target.thd_pct[0], 1e-5));
      CHECK(within_ratio(b.clean.swing_peak_v, a.clean.swing_peak_v, 1e-5));
      CHECK(within_ratio(b.small_signal.gain[0], a.small_signal.gain[0], 1e-6));
      CHECK(within_ratio(b.small_signal.output_impedance_alone_ohm[0],
                         a.small_signal.output_impedance_alone_ohm[0], 1e-6));
      CHECK(within_ratio(b.operating_point.supply_v, ideal.supply_v, 1e-6));
    }
}

TEST_CASE("what the stage draws from a main supply comes through the dropping resistor, at rest and driven") {
  const Tube tube = conducting_tube();
  for (BiasForm bias : kBiasForms) {
    Design d = pair_of(tube, bias);
    d.main_supply_v = 400;
    d.dropping_ohm = 33e3;
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    const OperatingPoint& o = e.operating_point;
    CHECK(within_ratio(o.supply_current_a, (d.main_supply_v - o.supply_v) / d.dropping_ohm, 1e-9));
    const SteadyState& s = e.at_target;
    CHECK(within_ratio(s.supply_current_a, (d.main_supply_v - s.supply_v) / d.dropping_ohm, 1e-9));
  }
}

TEST_CASE("a resistive source only divides, a grid that conducts shifts its own rest point") {
  const Tube silent = tube_with(kKoren12AX7, -0.5), conducting = conducting_tube();
  Design d = pair_of(silent, BiasForm::negative_rail);
  d.tube = {&silent, &silent};
  d.source_ohm = 100e3;
  Evaluation plain, divided;
  evaluate(d, Depth::at_target, divided);
  d.source_ohm = 0;
  evaluate(d, Depth::at_target, plain);
  REQUIRE(divided.at_target.solved == Solved::yes);
  // leak of 1 Mohm to ground behind 100 kohm: Ohm's law
  CHECK(within_ratio(divided.at_target.input_peak_v, plain.at_target.input_peak_v * 1.1, 1e-9));
  CHECK(within(divided.at_target.thd_pct[0], plain.at_target.thd_pct[0], 1e-7));

  // A bypassed cathode cannot follow its grid out of conduction as that of a pair does.
  d.tube = {&conducting, &conducting};
  d.circuit = CircuitKind::common_cathode;
  d.cathode_ohm = 1500;
  d.source_ohm = 100e3;
  Waveforms w;
  constexpr double kDrive_v = 3;
  const SteadyState hard = steady_state_at_drive(d, kDrive_v, &w);
  REQUIRE(hard.solved == Solved::yes);
  const double grid_a = mean_of(w.grid_current_a[0]);
  CHECK(grid_a > 1e-7);
  // The input capacitor passes no mean current, so all of the grid's comes down its leak.
  CHECK(within_ratio(hard.grid_mean_v[0], -grid_a * d.grid_leak_ohm, 1e-6));
  // What drives grid 1 through the source's resistance is the cosine and a voltage that stands still.
  const auto still_v = [&](int k) {
    const double grid_v = w.grid_to_cathode_v[0][k] + w.cathode_v[k];
    const double into_grid_a = w.grid_current_a[0][k] + grid_v / d.grid_leak_ohm;
    return grid_v + into_grid_a * d.source_ohm - kDrive_v * w.drive[k];
  };
  for (int k = 1; k < kInstants; ++k) CHECK(within(still_v(k), still_v(0), 1e-7));
}

TEST_CASE(
    "output valves' grids take what Kirchhoff's law gives them and no mean current through the capacitor") {
  const Tube tube = conducting_tube();
  OutputValve valve;
  valve.grid = grid_diode(-1.3);
  Design d = pair_of(tube, BiasForm::self_biased);
  d.output_valve = &valve;
  d.output_valve_bias_v = -22;
  Evaluation e;
  evaluate(d, Depth::everything, e);
  REQUIRE(e.at_target.solved == Solved::yes);
  // the figures at the target are those into the resistor
  Design bare = d;
  bare.output_valve = nullptr;
  Evaluation without;
  evaluate(bare, Depth::everything, without);
  CHECK(e.at_target.thd_pct[0] == without.at_target.thd_pct[0]);
  CHECK(without.overdrive.clean_into_output_grids.solved == Solved::not_run);
  CHECK(!without.overdrive.starved_db);

  const OverdriveFigures& o = e.overdrive;
  REQUIRE(o.solved == Solved::yes);
  CHECK(o.clean_into_output_grids.swing_peak_v < o.clean_conducting.swing_peak_v);
  CHECK(o.clean_conducting.swing_peak_v >= e.clean.swing_peak_v * (1 - 1e-6));
  REQUIRE(o.starved_db);
  for (const OverdriveFigures::At& a : o.at) {
    REQUIRE(a.solved == Solved::yes);
    for (int i = 0; i < 2; ++i) {
      CHECK(a.output_grid_shift_v[i] < 0);  // a conducting grid charges its capacitor negative
      CHECK(a.output_grid_peak_a[i] > 0);
    }
  }
  CHECK(std::abs(o.at[2].output_grid_shift_v[0]) > std::abs(o.at[0].output_grid_shift_v[0]));
}

TEST_CASE("starved is where the crest is a tenth short: checked by solving at the drive that was found") {
  const Tube tube = conducting_tube();
  OutputValve valve;
  valve.grid = grid_diode(-1.3);
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.output_valve = &valve;
  d.output_valve_bias_v = -22;
  Evaluation e;
  evaluate(d, Depth::everything, e);
  REQUIRE(e.overdrive.starved_db);
  const double drive = e.at_target.input_peak_v * std::pow(10, *e.overdrive.starved_db / 20);
  // Independently of the drive scan: one cycle each with and without the grids, from nothing.
  const auto crest_at = [&](bool grids) {
    const Instants& instants = cycle_instants(kFineInstants);
    SolverRoom room;
    CycleSolver& solver = make_solver(d, {Surroundings::real, kFineInstants, grids}, room);
    CycleState s;
    REQUIRE(solver.start_rest(false, s));
    int steps = 0;
    REQUIRE(solver.solve(rest_instant(), {.output = -1, .sign = 1, .value = 0}, s, steps) ==
            NewtonEnd::settled);
    for (auto& row : s.x) row.fill(row[0]);
    for (int part = 1; part <= 20; ++part)
      REQUIRE(solver.solve(instants, {.output = -1, .sign = 1, .value = drive * part / 20}, s, steps) ==
              NewtonEnd::settled);
    Waveforms w;
    solver.describe(instants, s, w);
    Pair crest{};
    for (int i = 0; i < 2; ++i) {
      crest[i] = *std::max_element(w.output_v[i].begin(), w.output_v[i].begin() + kFineInstants);
      // charge: load and grid together pass no mean current
      const double mean_a =
          mean_of(w.output_v[i], kFineInstants) / d.load_ohm + mean_of(w.output_grid_a[i], kFineInstants);
      CHECK(std::abs(mean_a) < 1e-9 * crest[i] / d.load_ohm);
    }
    return crest;
  };
  const Pair with = crest_at(true), without = crest_at(false);
  const double lost = std::max(1 - with[0] / without[0], 1 - with[1] / without[1]);
  // found between scan points a decibel apart, on a straight line
  CHECK(within(lost, OverdriveFigures::kStarvedShare, 0.01));
}

TEST_CASE("an output grid recovers with its coupling capacitor, the load and one output's own impedance") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.coupling_f = 100e-9;
  Evaluation e;
  evaluate(d, Depth::everything, e);
  for (std::size_t i = 0; i < 2; ++i)  // RC
    CHECK(within_ratio(e.overdrive.output_recovery_s[i],
                       100e-9 * (220e3 + e.small_signal.output_impedance_alone_ohm[i]), 1e-12));
}
