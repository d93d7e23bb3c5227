// The comparison itself: that it can fail.

#include "tests/reference/comparison.h"

#include <doctest/doctest.h>

#include <cmath>
#include <span>

#include "tests/reference/cases.h"

namespace antiphase::reference {
namespace {

struct Change {
  const char* part;
  double& (*at)(Design&);
};

/// Changes one part of the netlist by 1 %: both comparisons must notice; that at equal instants alone where a
/// part moves its figures by less than they are promised to (corners: 1 %).
void check_noticed(Case& c, std::span<const Change> changes, bool by_promised = true) {
  INFO(drawing_text(c));
  solve(c);
  REQUIRE(c.evaluation.at_target.solved == Solved::yes);
  solve_independently(c);
  const std::string apart =
      Tally(Closeness::promised).compare("unchanged", c.design.circuit, c.solver, c.fine);
  REQUIRE_MESSAGE(apart.empty(), apart);
  for (const Change& change : changes) {
    CAPTURE(change.part);
    Design other = c.design;
    REQUIRE(change.at(other) != 0);
    change.at(other) *= 1.01;
    const Figures off =
        independent_figures(other, c.input_peak_v, solver_steps(c.design, c.input_peak_v)).figures;
    if (by_promised)
      CHECK_FALSE(Tally(Closeness::promised).compare("off", c.design.circuit, c.solver, off).empty());
    CHECK_FALSE(Tally(Closeness::same_equations).compare("off", c.design.circuit, c.solver, off).empty());
  }
}

/// A drawn design whose surroundings are plain again, and its target well within reach.
Case plain(const Case& drawn) {
  Case c = drawn;
  if (c.design.main_supply_v > 0) c.design.supply_v = drawn.rest.point.supply_v;
  c.design.main_supply_v = c.design.source_ohm = 0;
  REQUIRE(works_at_rest(c.design, c.rest));
  const SmallSignal s = small_signal(c.design, drawing_of(c.design));
  c.design.swing_peak_v = 0.3 * std::abs(c.rest.point.grid_to_cathode_v[0] * s.gain[0]);
  return c;
}

double& plate_1(Design& d) {
  return d.plate_ohm[0];
}
double& plate_2(Design& d) {
  return d.plate_ohm[1];
}
double& supply(Design& d) {
  return d.supply_v;
}
double& load(Design& d) {
  return d.load_ohm;
}

TEST_CASE("the comparison notices any part of a pair that is off by one percent") {
  const Change self_biased[] = {
      {"plate resistor 1", plate_1},
      {"plate resistor 2", plate_2},
      {"supply", supply},
      {"load", load},
      {"bias resistor", [](Design& d) -> double& { return d.bias.ohm; }},
      {"tail resistor", [](Design& d) -> double& { return d.tail.ohm; }},
  };
  const Change rail_sink[] = {
      {"plate resistor 1", plate_1},
      {"plate resistor 2", plate_2},
      {"sink current", [](Design& d) -> double& { return d.tail.current_a; }},
  };
  Cases cases = draw_pairs(20261010, 1);  // one of each form, in their order
  Case first = plain(cases.all.front()), last = plain(cases.all.back());
  check_noticed(first, self_biased);
  check_noticed(last, rail_sink);
}

TEST_CASE("the comparison notices any surroundings of a pair that are off by one percent") {
  const Change changes[] = {
      {"main supply", [](Design& d) -> double& { return d.main_supply_v; }},
      {"dropping resistor", [](Design& d) -> double& { return d.dropping_ohm; }},
      {"reservoir", [](Design& d) -> double& { return d.reservoir_f; }},
      {"source resistance", [](Design& d) -> double& { return d.source_ohm; }},
      {"source capacitance", [](Design& d) -> double& { return d.source_f; }},
      {"grid leaks", [](Design& d) -> double& { return d.grid_leak_ohm; }},
      {"input capacitor", [](Design& d) -> double& { return d.input_coupling_f; }},
      {"coupling capacitors", [](Design& d) -> double& { return d.coupling_f; }},
      {"grid 2 bypass", [](Design& d) -> double& { return d.grid_bypass_f; }},
      {"load capacitance", [](Design& d) -> double& { return d.load_f; }},
  };
  Case c = plain(draw_pairs(20261010, 1).all.front());
  c.design.main_supply_v = 1.15 * c.design.supply_v;
  c.design.dropping_ohm = 0.15 * c.design.supply_v / c.rest.point.supply_current_a;
  c.design.supply_v = 0;
  c.design.reservoir_f = 22e-6;
  c.design.source_ohm = 47e3;
  c.design.source_f = 100e-12;
  c.design.input_coupling_f = 22e-9;
  c.design.coupling_f = 47e-9;
  c.design.grid_bypass_f = 100e-9;
  c.design.load_f = 60e-12;
  REQUIRE(works_at_rest(c.design, c.rest));
  check_noticed(c, changes, false);
}

TEST_CASE("the comparison notices any part of a gain stage that is off by one percent") {
  const Change changes[] = {
      {"plate resistor", plate_1},
      {"supply", supply},
      {"load", load},
      {"cathode resistor", [](Design& d) -> double& { return d.cathode_ohm; }},
      {"unbypassed part", [](Design& d) -> double& { return d.cathode_unbypassed_ohm; }},
  };
  Cases cases = draw_gain_stages(20261111, 3);
  Case partly = plain(cases.all[1]);
  check_noticed(partly, changes);
}

TEST_CASE("the comparison notices a figure that is not a number, and one of the wrong sign") {
  Figures solver, independent;
  const auto apart = [&] {
    return Tally(Closeness::promised).compare("made up", CircuitKind::common_cathode, solver, independent);
  };
  solver.state.harmonic_v[0] = independent.state.harmonic_v[0] = {0, -1, 0.1};
  CHECK(apart().empty());
  solver.state.harmonic_v[0][2] = -0.1;
  CHECK_FALSE(apart().empty());
  solver = independent;
  solver.rest.cathode_v = std::nan("");
  CHECK_FALSE(apart().empty());
}

}  // namespace
}  // namespace antiphase::reference
