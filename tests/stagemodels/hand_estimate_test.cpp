// The pencil's way, against its own arithmetic and a worked example of common practice.
#include <doctest/doctest.h>

#include <cmath>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "stagemodels/evaluate.h"
#include "stagemodels/hand_estimate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("the hand picture of a 12AT7 section on a 50 k line from 205 V") {
  // Common practice, no published source: 250 V with 18 % on the tail leave the cathode at 45 V and 205 V
  // for plate resistor and tube; 100 k of plate resistor beside 100 k of next grid leak are 50 k; the line
  // from 205 V meets the current axis at 4.1 mA; a 12AT7 section at 2 mA sits at 105 V with about -1.5 V on
  // the grid, needs roughly 0.5 V peak for 44 V peak to peak, and distorts by about 1.5 %.
  const auto library = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(library));
  const Tube* tube = std::get<TubeLibrary>(library).find("12AT7");
  REQUIRE(tube);
  const double supply = 250, tail = 0.18 * supply;
  const double left = supply - tail, load = 100e3 * 100e3 / (100e3 + 100e3);
  CHECK(within(tail, 45, 1e-12));
  CHECK(within(left, 205, 1e-12));
  CHECK(within(left / load, 4.1e-3, 1e-12));
  const HandEstimate hand = hand_estimate(tube->law(), {left, load, 2e-3}, 22);
  REQUIRE(hand.valid);
  MESSAGE("12AT7 by hand: grid ", hand.rest_grid_v, " V, drive ", hand.grid_drive_peak_v, " V, distortion ",
          hand.thd_pct, " %");
  CHECK(within(hand.rest_plate_v, 105, 1e-9));
  CHECK(within(hand.rest_grid_v, -1.5, 0.15));      // "about": a reading off curves
  CHECK(within(hand.grid_drive_peak_v, 0.5, 0.2));  // "roughly"
  // Read off the curves themselves the distortion is 1.4 % (next test). The fitted law gives more: the -1 V
  // curve lies 15 to 30 % above what any simple formula can do below 100 V, and just that bends this line.
  // So the law is held to the right size only, and the card says so.
  CHECK(hand.thd_pct > 0.7);
  CHECK(hand.thd_pct < 4.5);

  // The solved pair at the same current and line shows much less. Its plate resistors are smaller here: 100 k
  // would drop 200 V of the 205 V at 2 mA, which the hand picture hides.
  Design d = pair_of(*tube);
  d.supply_v = 250;
  d.plate_ohm = {47e3, 50e3};
  d.load_ohm = 100e3;
  d.bias.ohm = 400;
  d.tail.ohm = 11e3;
  d.swing_peak_v = 22;
  Evaluation e;
  evaluate(d, Depth::with_hand, e);
  REQUIRE(e.at_target.solved == Solved::yes);
  REQUIRE(e.hand_at_rest_point.valid);
  MESSAGE("pair at ", 1e3 * e.operating_point.plate_current_a[0], " mA: solved ", e.at_target.thd_pct[0],
          " %, by hand ", e.hand_at_rest_point.thd_pct, " %");
  CHECK(e.at_target.thd_pct[0] < 0.6 * e.hand_at_rest_point.thd_pct);
}

TEST_CASE("the readings of the 12AT7 curves themselves give the hand picture of common practice") {
  // No law in between: where each curve crosses the line, by straight interpolation between its readings;
  // a cubic through the four crossings at 0, -1, -2 and -3 V; five ordinates on that.
  const auto read = read_curve_points(ANTIPHASE_SOURCE "/configs/curves/12AT7_GE_1957.csv");
  REQUIRE(std::holds_alternative<CurveFile>(read));
  const auto& points = std::get<CurveFile>(read).points;
  const double left = 205, load = 50e3;
  double i_at[4] = {};
  for (int n = 0; n < 4; ++n) {
    const CurvePoint* last = nullptr;
    for (const CurvePoint& p : points) {
      if (std::abs(p.grid_v + n) > 1e-6) continue;
      const auto above = [&](const CurvePoint& q) { return q.plate_current_a - (left - q.plate_v) / load; };
      if (last && above(*last) < 0 && above(p) >= 0) {
        const double share = -above(*last) / (above(p) - above(*last));
        i_at[n] = last->plate_current_a + share * (p.plate_current_a - last->plate_current_a);
      }
      last = &p;
    }
    REQUIRE(i_at[n] > 0);
  }
  const auto current = [&](double grid_v) {  // Lagrange through grid 0, -1, -2, -3
    double sum = 0;
    for (int n = 0; n < 4; ++n) {
      double term = i_at[n];
      for (int m = 0; m < 4; ++m)
        if (m != n) term *= (grid_v + m) / (m - n);
      sum += term;
    }
    return sum;
  };
  double grid_v = -1.5;
  for (int k = 0; k < 60; ++k) grid_v += (2e-3 - current(grid_v)) / 0.7e-3;  // Newton with a fixed slope
  double drive = 0.5;
  const auto h1 = [&](double v) {
    return load *
           (current(grid_v + v) + current(grid_v + v / 2) - current(grid_v - v / 2) - current(grid_v - v)) /
           3;
  };
  for (int k = 0; k < 60; ++k) drive *= 22 / h1(drive);
  const double a = current(grid_v + drive), c = current(grid_v), e = current(grid_v - drive);
  const double by_curves = 100 * std::abs((a - 2 * c + e) / 4) / (h1(drive) / load);

  MESSAGE("by the curves: grid ", grid_v, " V, drive ", drive, " V, second harmonic ", by_curves, " %");
  CHECK(within(grid_v, -1.5, 0.1));  // common practice: about -1.5 V
  CHECK(within(drive, 0.5, 0.1));    // roughly 0.5 V
  // About 1.5 %. Readings are good to 0.04 mA; in the second difference that is 0.08 of 0.1 mA a volt squared
  // at worst and a third of it as a rule.
  CHECK(within(by_curves, 1.5, 0.5));
}

TEST_CASE("a plate resistor of 100 k at 2 mA leaves 5 V of 205 V, and both lines say so") {
  const Tube tube = tube_with(kKoren12AT7);
  const double dc_line_v = 205 - 2e-3 * 100e3;
  CHECK(within(dc_line_v, 5, 1e-9));
  const HandEstimate hand = hand_estimate(tube.law(), {205, 50e3, 2e-3}, 22);
  REQUIRE(hand.valid);
  CHECK(within(hand.rest_plate_v - dc_line_v, 100, 1e-9));
}

TEST_CASE("five ordinates are exact for curves of the fourth degree") {
  // The law of the test: on a line without load the plate voltage stands still, so i(vg) is the law itself.
  // A three-halves law is no polynomial; its exact cosine harmonics come from a fine sum instead, and the
  // method's error is of the order of the fifth and higher coefficients.
  const ChildLangmuir law{1e-3, 1e6, 4};  // mu so high that the plate has no say
  const double load = 1.0;                // ohm
  const LoadLine line{300, load, currents_at(law, -1.0, 300).plate_a};
  const double swing = 1e-3;
  const HandEstimate hand = hand_estimate(law, line, swing);
  REQUIRE(hand.valid);
  double c[5] = {};
  constexpr int kFine = 4096;
  for (int k = 0; k < kFine; ++k) {
    const double phase = 2 * 3.14159265358979323846 * (k + 0.5) / kFine;
    const double i = currents_at(law, -1.0 + hand.grid_drive_peak_v * std::cos(phase), 300).plate_a;
    for (int h = 1; h < 5; ++h) c[h] += 2.0 / kFine * i * std::cos(h * phase);
  }
  CHECK(within_ratio(load * c[1], swing, 1e-3));
  CHECK(within_ratio(hand.thd_pct, 100 * std::sqrt(c[2] * c[2] + c[3] * c[3] + c[4] * c[4]) / c[1], 0.02));
}

TEST_CASE("a swing that does not fit on the line has no hand estimate") {
  const ChildLangmuir law{1e-3, 100, 0};
  CHECK_FALSE(hand_estimate(law, {100, 50e3, 1e-3}, 400).valid);
  CHECK_FALSE(hand_estimate(law, {40, 50e3, 1e-3}, 5).valid);  // rest point below zero volts
}
