// The solver against the independent library, on designs drawn from a seed.
//
// Two comparisons: at the solver's own instants both sides solve the same equations and must agree to
// solver errors; at finer instants the independent side stands for the truth, and what the solver
// promises is checked. A section that is cut off for a part of the cycle has a kink in its
// waveform, which no moderate number of instants resolves to the tenth harmonic: there the promise
// is for total distortion, and the rest is only shown.

#include <doctest/doctest.h>

#include "tests/reference/cases.h"

namespace antiphase::reference {
namespace {

constexpr int kPairsEach = 12;  // of each bias and tail form
constexpr int kGainStages = 24;
constexpr double kKirchhoffLeftA = 1e-10;

class Tallies {
 public:
  void add_same_equations(Case& c) {
    INFO(drawing_text(c));
    REQUIRE(c.solver.rest.solved == Solved::yes);
    REQUIRE(c.solver.state.solved == Solved::yes);
    REQUIRE_NOTHROW(solve_independently(c));
    CHECK(c.kirchhoff_a < kKirchhoffLeftA);
    const std::string apart = same_.compare(c.name, c.design.circuit, c.solver, c.independent);
    CHECK_MESSAGE(apart.empty(), apart);
    ++compared_;
    at_target_ += c.evaluation.at_target.solved == Solved::yes;
  }

  void add_promised(const Case& c) {
    INFO(drawing_text(c));
    if (c.conducts_all_the_time()) {
      const std::string outside = conducting_.compare(c.name, c.design.circuit, c.solver, c.fine);
      CHECK_MESSAGE(outside.empty(), outside);
      return;
    }
    add_cut_off(c);
    const Tolerance allowed{0.01, 0.01};
    for (std::size_t i = 0; i < c.sections(); ++i) {
      const double want = c.fine.state.thd_pct[i];
      CHECK(std::abs(c.solver.state.thd_pct[i] - want) <=
            std::max(allowed.absolute, allowed.relative * want));
    }
  }

  void add_cut_off(const Case& c) {
    ++cut_off_count_;
    cut_off_.compare(c.name, c.design.circuit, c.solver, c.fine);
  }

  void show() const {
    MESSAGE(compared_ << " designs, " << at_target_ << " reach their target swing, " << cut_off_count_
                      << " cut off for a part of the cycle\nAt the solver's instants, " << same_.table()
                      << "At fine instants, always conducting, " << conducting_.table("steady state")
                      << "At fine instants, cut off for a part of the cycle (shown), "
                      << cut_off_.table("steady state"));
  }

 private:
  Tally same_{Closeness::same_equations}, conducting_{Closeness::promised}, cut_off_{Closeness::promised};
  int compared_ = 0, at_target_ = 0, cut_off_count_ = 0;
};

void compare_at_target(Cases cases) {
  Tallies tallies;
  for (Case& c : cases.all) {
    solve(c);
    tallies.add_same_equations(c);
    tallies.add_promised(c);
  }
  tallies.show();
}

TEST_CASE("pairs of every bias and tail agree with the independent library") {
  compare_at_target(draw_pairs(20260101, kPairsEach));
}

TEST_CASE("gain stages of every bypassing agree with the independent library") {
  compare_at_target(draw_gain_stages(20260202, kGainStages));
}

TEST_CASE("overdriven stages agree with the independent library at equal instants") {
  constexpr double kOverdrive = 2.5;  // of the grid bias: cut-off and grid current
  Tallies tallies;
  for (Cases cases : {draw_pairs(20260404, kPairsEach / 2), draw_gain_stages(20260505, kGainStages / 2)}) {
    for (Case& c : cases.all) {
      solve(c);
      c.input_peak_v = kOverdrive * std::abs(c.rest.point.grid_to_cathode_v[0]);
      c.solver.state = steady_state_at_drive(c.design, c.input_peak_v, nullptr);
      tallies.add_same_equations(c);
      if (!c.conducts_all_the_time()) tallies.add_cut_off(c);
    }
  }
  tallies.show();
}

}  // namespace
}  // namespace antiphase::reference
