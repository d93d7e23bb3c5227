// The EF86's card against what its sheet prints of resistance-coupled stages, which the card's law has not
// seen: it is fitted to the typical characteristics alone.
//
// Source: Philips EF86 data sheet, operating characteristics with 100 kohm, quoted at second hand; 220 kohm
// from memory. The cathode's current is printed to 0.05 mA, the gain to 1. Both are held to 10 %, by which
// sheets of one type differ from each other.
#include <doctest/doctest.h>

#include <cstdio>
#include <string>

#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

/// A pentode ahead of a pair on a rail, whose grid leak is the next stage's.
struct TableRow {
  double supply_v, plate_ohm, screen_ohm, cathode_ohm, next_leak_ohm, cathode_a, gain;
};
constexpr TableRow kTable[] = {
    {150, 100e3, 390e3, 1e3, 330e3, 1.05e-3, 110}, {200, 100e3, 390e3, 1e3, 330e3, 1.55e-3, 117},
    {250, 100e3, 390e3, 1e3, 330e3, 2.0e-3, 123},  {300, 100e3, 390e3, 1e3, 330e3, 2.4e-3, 129},
    {350, 100e3, 390e3, 1e3, 330e3, 2.75e-3, 134}, {400, 100e3, 390e3, 1e3, 330e3, 3.2e-3, 140}};
/// Not held: its gain comes out 15 % low, current within 4 %. At a third of the current that the law was
/// fitted at, its slope falls faster than the tube's.
constexpr TableRow kOutside{250, 220e3, 1e6, 2.2e3, 680e3, 0.9e-3, 185};

struct Stage {
  double cathode_a, gain;
};
Stage solved(const TableRow& row) {
  const Tube *pentode = shipped().find("EF86"), *triode = shipped().find("12AX7");
  REQUIRE(pentode);
  Design d = pair_of(*triode, BiasForm::negative_rail);
  d.circuit = CircuitKind::gain_and_splitter;
  d.supply_v = row.supply_v;
  d.grid_leak_ohm = row.next_leak_ohm;
  d.first_stage.form = GainForm::pentode;
  d.first_stage.tube = pentode;
  d.first_stage.plate_ohm = row.plate_ohm;
  d.first_stage.screen_ohm = row.screen_ohm;
  d.first_stage.cathode_ohm = row.cathode_ohm;
  Evaluation e;
  evaluate(d, Depth::small_signal, e);
  REQUIRE(e.operating_point.solved == Solved::yes);
  return {e.operating_point.first.cathode_current_a(), -e.small_signal.first_stage_gain};
}

}  // namespace

TEST_CASE("the EF86's card gives the currents and gains of its sheet's stages with 100 kohm") {
  for (const TableRow& row : kTable) {
    CAPTURE(row.supply_v);
    const Stage s = solved(row);
    std::printf("EF86, %.0f V, %.0f kohm: cathode current %+.1f %%, gain %+.1f %%\n", row.supply_v,
                row.plate_ohm / 1e3, 100 * (s.cathode_a / row.cathode_a - 1), 100 * (s.gain / row.gain - 1));
    CHECK(within_ratio(s.cathode_a, row.cathode_a, 0.10));
    CHECK(within_ratio(s.gain, row.gain, 0.10));
  }
  const Stage s = solved(kOutside);
  std::printf("EF86, %.0f V, %.0f kohm (not held): cathode current %+.1f %%, gain %+.1f %%\n",
              kOutside.supply_v, kOutside.plate_ohm / 1e3, 100 * (s.cathode_a / kOutside.cathode_a - 1),
              100 * (s.gain / kOutside.gain - 1));
}
