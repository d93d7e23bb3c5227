// The solver against the independent library, on designs drawn from a seed: published sets and the project's
// cards, every bias, tail and bypassing, with and without source resistance, dropping resistor and
// capacitors.
//
// Two comparisons: at the solver's own instants both sides solve the same equations and must agree to
// solver errors; at finer instants the independent side stands for the truth, and what the solver
// promises is checked. Three kinds of working, each with its own promise:
//   clean       no grid above its conduction, both sections conduct over the whole cycle: every figure
//   grids       a grid conducts for part of the cycle: total distortion and the outputs
//   clipped     more than 25 % distortion on the independent side, far past where any curve of distortion
//   against
//               level ends: only shown. With both halves of the wave square, sixteen instants miss the total
//               by up to 7 % of itself.
//   cut off     a section is cut off for part of the cycle. Its waveform has a kink, which no moderate number
//   of
//               instants resolves to the tenth harmonic: total distortion; single harmonics are only shown.

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/reference/cases.h"

namespace antiphase::reference {
namespace {

// 3 x 17 x 6 pairs and 102 gain stages: 408 designs. In parts, so that they can run side by side.
constexpr int kPairsEach = 17;  // of each bias and tail form
constexpr int kGainStages = 102;
constexpr double kKirchhoffLeftA = 1e-10, kClippedPct = 25;
// Of itself; sixteen instants do not resolve square waves better (stagemodels/README.md).
constexpr double kClippedShare = 0.07;
// A square wave's harmonics over its fundamental, sqrt(pi^2 / 8 - 1). What is above it is pulses, of which
// sixteen instants see a few: counted and shown, held to nothing.
constexpr double kSquareWavePct = 48.34;

class Tallies {
 public:
  void add(Case& c) {
    INFO(drawing_text(c));
    REQUIRE(c.solver.rest.solved == Solved::yes);
    REQUIRE(c.solver.state.solved == Solved::yes);
    REQUIRE_NOTHROW(solve_independently(c));
    compare(c);
  }

  /// Of a design with followers. Now and then the library's search for the capacitors' voltages does not
  /// settle, or its noise is not a number: that is counted, and not compared.
  void add_driven(Case& c) {
    INFO(drawing_text(c));
    REQUIRE(c.solver.rest.solved == Solved::yes);
    REQUIRE(c.solver.state.solved == Solved::yes);
    try {
      solve_independently(c);
    } catch (const std::exception&) {
      ++unsettled_;
      return;
    }
    const NoiseFigures& noise = c.independent.frequency.noise;
    if (!std::isfinite(noise.difference_v_rms + noise.output_v_rms[0] + noise.output_v_rms[1])) {
      ++without_noise_;
      for (Figures* f : {&c.solver, &c.independent, &c.fine}) f->frequency.noise = {};
    }
    compare(c);
  }
  int unsettled() const { return unsettled_; }
  int without_noise() const { return without_noise_; }

 private:
  void compare(Case& c) {
    CHECK(c.kirchhoff_a < kKirchhoffLeftA);
    const std::string apart = same_.compare(c.name, c.design.circuit, c.solver, c.independent);
    CHECK_MESSAGE(apart.empty(), apart);
    ++compared_;
    at_target_ += c.evaluation.at_target.solved == Solved::yes;
    add_promised(c);
  }

 public:
  void show() const {
    MESSAGE(compared_ << " designs, " << at_target_ << " reach their target swing; " << clean_count_
                      << " are clean there, in " << grids_count_ << " a grid conducts, " << cut_off_count_
                      << " are cut off for a part of the cycle, " << clipped_count_
                      << " clip with more than 25 % distortion, " << pulses_count_
                      << " of them to more than a square wave's\nAt the solver's instants, " << same_.table()
                      << "At fine instants, clean, " << clean_.table("steady state")
                      << "At fine instants, a grid conducts (held to total distortion and outputs), "
                      << grids_.table("steady state")
                      << "At fine instants, cut off for a part of the cycle (held to total distortion), "
                      << cut_off_.table("steady state")
                      << "At fine instants, clipped with more than 25 % distortion (shown), "
                      << clipped_.table("steady state: thd")
                      << clipped_.table("steady state: output_peak_v"));
  }

 private:
  void add_promised(const Case& c) {
    const auto held_to = [&](const Pair& got, const Pair& want, double absolute, double relative) {
      for (std::size_t i = 0; i < c.outputs(); ++i)
        CHECK(std::abs(got[i] - want[i]) <= std::max(absolute, relative * std::abs(want[i])));
    };
    const Pair &thd = c.solver.state.thd_pct, &fine_thd = c.fine.state.thd_pct;
    if (std::max(fine_thd[0], fine_thd[1]) > kClippedPct) {
      ++clipped_count_;
      clipped_.compare(c.name, c.design.circuit, c.solver, c.fine);
      if (std::max(fine_thd[0], fine_thd[1]) > kSquareWavePct)
        ++pulses_count_;
      else
        held_to(thd, fine_thd, 0, kClippedShare);
    } else if (!c.conducts_all_the_time()) {
      ++cut_off_count_;
      cut_off_.compare(c.name, c.design.circuit, c.solver, c.fine);
      held_to(thd, fine_thd, 0.01, 0.01);
    } else if (c.grid_conducts()) {
      ++grids_count_;
      grids_.compare(c.name, c.design.circuit, c.solver, c.fine);
      held_to(thd, fine_thd, 0.003, 0.02);
      held_to(c.solver.state.output_peak_v, c.fine.state.output_peak_v, 0, 0.02);
    } else {
      ++clean_count_;
      const std::string outside = clean_.compare(c.name, c.design.circuit, c.solver, c.fine);
      CHECK_MESSAGE(outside.empty(), outside);
    }
  }

  Tally same_{Closeness::same_equations}, clean_{Closeness::promised}, grids_{Closeness::promised},
      cut_off_{Closeness::promised}, clipped_{Closeness::promised};
  int compared_ = 0, at_target_ = 0, clean_count_ = 0, grids_count_ = 0, cut_off_count_ = 0,
      clipped_count_ = 0, pulses_count_ = 0, unsettled_ = 0, without_noise_ = 0;
};

void compare_at_target(Cases cases) {
  Tallies tallies;
  for (Case& c : cases.all) {
    solve(c);
    tallies.add(c);
  }
  tallies.show();
}

TEST_CASE("pairs of every bias and tail agree with the independent library, first part") {
  compare_at_target(draw_pairs(20260101, kPairsEach));
}
TEST_CASE("pairs of every bias and tail agree with the independent library, second part") {
  compare_at_target(draw_pairs(20260102, kPairsEach));
}
TEST_CASE("pairs of every bias and tail agree with the independent library, third part") {
  compare_at_target(draw_pairs(20260103, kPairsEach));
}

TEST_CASE("gain stages of every bypassing agree with the independent library") {
  compare_at_target(draw_gain_stages(20260202, kGainStages));
}

// 2 x 2 x 17 split-load splitters.
TEST_CASE("self-biased and directly coupled split loads agree with the independent library, first part") {
  compare_at_target(draw_split_loads(20260401, kPairsEach));
}
TEST_CASE("self-biased and directly coupled split loads agree with the independent library, second part") {
  compare_at_target(draw_split_loads(20260402, kPairsEach));
}

// 2 x 17 split loads behind a gain stage, 3 x 12 paraphases and as many of the floating kind, 3 x 6 of each
// behind a gain stage.
TEST_CASE("chains of gain stage and split load agree with the independent library") {
  compare_at_target(draw_split_load_chains(20260501, kPairsEach));
}
TEST_CASE("paraphases of every bypassing agree with the independent library") {
  compare_at_target(draw_paraphases(20260502, 12, false, false));
}
TEST_CASE("floating paraphases of every bypassing agree with the independent library") {
  compare_at_target(draw_paraphases(20260503, 12, true, false));
}
TEST_CASE("chains of gain stage and paraphase agree with the independent library") {
  compare_at_target(draw_paraphases(20260504, 6, false, true));
}
TEST_CASE("chains of gain stage and floating paraphase agree with the independent library") {
  compare_at_target(draw_paraphases(20260505, 6, true, true));
}

// 2 x 30 of each splitter. A second pair as the driver is not among them: where the library holds capacitors
// as at rest it finds other direct voltages for one in ten of those, and the cause is not known. They are
// held by closed formulas (tests/stagemodels/circuits/driver_test.cpp) and by the netlist of the shipped one
// (written_netlist_test.cpp).
TEST_CASE("followers behind pairs and split loads agree with the independent library") {
  Tallies tallies;
  Cases cases = draw_followers(20260601, 30);
  const int drawn = static_cast<int>(cases.all.size());
  for (Case& c : cases.all) {
    solve(c);
    tallies.add_driven(c);
  }
  tallies.show();
  MESSAGE(tallies.unsettled() << " of " << drawn << " did not settle in the library, of "
                              << tallies.without_noise() << " it gave no noise");
  CHECK(tallies.unsettled() <= drawn / 20);
  CHECK(tallies.without_noise() <= drawn / 10);
}

// 2 x 6 x 6 chains: every bias and tail of the pair, every bypassing of the first cathode.
TEST_CASE("chains of gain stage and pair agree with the independent library, first part") {
  compare_at_target(draw_chains(20260301, 6));
}
TEST_CASE("chains of gain stage and pair agree with the independent library, second part") {
  compare_at_target(draw_chains(20260302, 6));
}

}  // namespace
}  // namespace antiphase::reference
