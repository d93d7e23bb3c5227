// Grid current as a diode: what its published onset, its temperature and its resistance say.
#include "stagemodels/tubes/grid_diode.h"

#include <doctest/doctest.h>

#include <cmath>

#include "stagemodels/tubes/section.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("at the published onset the grid takes 0.3 uA, whatever the resistance and temperature") {
  for (double onset : {-1.3, -0.9, -0.5, 0.0})
    for (double ohm : {500.0, 2000.0, 10e3})
      for (double slope : {0.086, 0.09})
        CHECK(within_ratio(grid_diode(onset, ohm, slope).current_a(onset), 0.3e-6, 1e-12));
}

TEST_CASE(
    "far below, the current falls tenfold every ln 10 kT/e, far above, it is a line of the resistance") {
  const GridDiode d = grid_diode(-0.9);
  // 0.3 uA is 0.7 % up the bend, so that the ratio to the tail below is within that of ten
  CHECK(within_ratio(d.current_a(-1.1 - 0.09 * std::log(10)) / d.current_a(-1.1), 0.1, 2e-3));
  CHECK(within_ratio((d.current_a(1.0) - d.current_a(0.9)) / 0.1, 1 / 2000.0, 1e-4));
}

TEST_CASE("measured grid current of one 12AX7 is of the diode's size") {
  // Dempwolf and Zoelzer, DAFx-11, set RSD-1: 18.8 uA at 0 V, 130 at +0.3 V, 249 at +0.5 V, 618 at +1 V. One
  // tube, onset (0.3 uA) at -0.35 V; the diode has the published law of none, so a factor of two is what it
  // can promise.
  const GridDiode d = grid_diode(-0.35);
  CHECK(within_ratio(d.current_a(0.3), 129.9e-6, 0.5));
  CHECK(within_ratio(d.current_a(0.5), 249e-6, 0.5));
  CHECK(within_ratio(d.current_a(1.0), 617.8e-6, 0.5));
}

TEST_CASE("the derivative is that of the current, and a silent grid draws exactly nothing") {
  const GridDiode d = grid_diode(-0.9);
  for (double v = -3; v < 2; v += 0.0731) {
    double a = 0, slope = 0;
    d.add(&v, 1, &a, &slope);
    CHECK(within_ratio(a, d.current_a(v), 1e-12));
    constexpr double h = 1e-5;
    if (!d.silent_at(v - h))
      CHECK(within_ratio(slope, (d.current_a(v + h) - d.current_a(v - h)) / (2 * h), 1e-6));
    if (d.silent_at(v)) CHECK(a == 0);
  }
  CHECK(d.current_a(-3) == 0);
  CHECK(GridDiode{}.current_a(100) == 0);
}

TEST_CASE("a tube uses the diode only where its law has no grid current of its own") {
  Tube koren = tube_with(kKoren12AX7), measured = tube_with(kRsd2);
  koren.grid_diode = measured.grid_diode = grid_diode(-0.5);
  const auto of = [](const Tube& t) { return TriodeSection{&t, &t.law(), {}}; };
  CHECK(within_ratio(of(koren).currents_at(0, 200).grid_a, koren.grid_diode.current_a(0), 1e-14));
  CHECK(of(measured).currents_at(0, 200).grid_a == currents_at(measured.law(), 0, 200).grid_a);
  // plate current is the law's either way
  CHECK(of(koren).currents_at(0, 200).plate_a == currents_at(koren.law(), 0, 200).plate_a);
}
