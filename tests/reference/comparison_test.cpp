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

/// Changes one part of the netlist by 1 %: both comparisons must notice.
void check_noticed(Case& c, std::span<const Change> changes) {
  INFO(drawing_text(c));
  solve(c);
  REQUIRE(c.evaluation.at_target.solved == Solved::yes);
  solve_independently(c);
  REQUIRE(Tally(Closeness::promised).compare("unchanged", c.design.circuit, c.solver, c.fine).empty());
  for (const Change& change : changes) {
    CAPTURE(change.part);
    Design other = c.design;
    change.at(other) *= 1.01;
    const Figures off =
        independent_figures(other, c.input_peak_v, solver_steps(c.design, c.input_peak_v)).figures;
    CHECK_FALSE(Tally(Closeness::promised).compare("off", c.design.circuit, c.solver, off).empty());
    CHECK_FALSE(Tally(Closeness::same_equations).compare("off", c.design.circuit, c.solver, off).empty());
  }
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
  check_noticed(cases.all.front(), self_biased);
  check_noticed(cases.all.back(), rail_sink);
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
  check_noticed(cases.all[1], changes);  // the partly bypassed one
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
