// The pair against the published phase-inverter block of the ECC83, the split load behind a gain stage
// against those of the ECC82.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "configs/tube_library.h"
#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design philips_block(const Tube& tube, double load_ohm) {
  Design d = pair_of(tube, BiasForm::direct_coupled);
  d.supply_v = 250;
  d.plate_ohm = {100e3, 100e3};
  d.tail.ohm = 68e3;
  d.bias.grid_v = 65;
  d.load_ohm = load_ohm;
  d.swing_peak_v = 20 * std::sqrt(2.0);
  return d;
}

}  // namespace

TEST_CASE("ECC83 cathode-coupled pair, 250 V, 68 k tail, grid at 65 V") {
  // From memory: Philips ECC83 sheet: total current 1.0 mA, gain 25, 20 V rms out at 1.8 %. Gain within 15 %,
  // distortion within a factor 0.6 to 1.9: what published parameter sets of this type scatter by.
  const auto library = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(library));
  const Tube* tube = std::get<TubeLibrary>(library).find("ECC83");
  REQUIRE(tube);
  Evaluation e;
  evaluate(philips_block(*tube, 330e3), Depth::at_target, e);
  REQUIRE(e.at_target.solved == Solved::yes);
  MESSAGE("ECC83 block: current ", 1e3 * e.operating_point.supply_current_a, " mA, gains ",
          e.small_signal.gain[0], " ", e.small_signal.gain[1], ", distortion ", e.at_target.thd_pct[0], " ",
          e.at_target.thd_pct[1], " %");
  CHECK(within_ratio(e.operating_point.supply_current_a, 1.0e-3, 0.12));
  // What is remembered has no load. With the 1 M of the sheet's largest grid leak the gains are within 10 %.
  Evaluation light;
  evaluate(philips_block(*tube, 1e6), Depth::at_target, light);
  MESSAGE("with 1 M: gains ", light.small_signal.gain[0], " ", light.small_signal.gain[1]);
  CHECK(within_ratio(-light.small_signal.gain[0], 25, 0.10));
  CHECK(within_ratio(light.small_signal.gain[1], 25, 0.10));
  CHECK(within_ratio(-e.small_signal.gain[0], 25, 0.15));
  CHECK(within_ratio(e.small_signal.gain[1], 25, 0.15));
  const double worst = std::max(e.at_target.thd_pct[0], e.at_target.thd_pct[1]);
  CHECK(worst >= 0.6 * 1.8);
  CHECK(worst <= 1.9 * 1.8);
}

TEST_CASE("the same block with three parameter sets, against an independent solution") {
  // The first and the last are published (N. Koren 1996; K. Dempwolf, U. Zoelzer 2011). Independent numerical
  // solution of the same circuit: currents to 0.001 mA, cathode to 0.1 V, gains to 0.1, distortion to 0.1
  // points, as printed.
  struct Case {
    Tube tube;
    double load_ohm, each_a, cathode_v, gain_1, gain_2, thd_pct;
  };
  const Koren1996 with_offset{99.95, 1.431, 1659.3, 688.57, 284.1, 0.5};
  // RSD-2's conduction point is put at 0 V here: the published case does not use it
  const Case cases[] = {
      {tube_with(kKoren12AX7), 330e3, 0.486e-3, 66.0, 25.3, 24.8, 2.4},
      {tube_with(with_offset), 330e3, 0.488e-3, 66.3, 24.0, 23.5, 2.0},
      {tube_with(kRsd2), 330e3, 0.487e-3, 66.2, 24.9, 24.3, 2.4},
      {tube_with(kKoren12AX7), 1e6, 0.486e-3, 66.0, 27.3, 26.6, 1.45},
      {tube_with(with_offset), 1e6, 0.488e-3, 66.3, 26.1, 25.4, 1.23},
      {tube_with(kRsd2), 1e6, 0.487e-3, 66.2, 27.1, 26.4, 1.39},
  };
  for (const Case& c : cases) {
    Evaluation e;
    evaluate(philips_block(c.tube, c.load_ohm), Depth::at_target, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    // the mean of the sections: RSD-2 draws grid current, which lowers grid 2 behind its leak of 1 megohm
    CHECK(within(0.5 * (e.operating_point.plate_current_a[0] + e.operating_point.plate_current_a[1]),
                 c.each_a, 0.001e-3));
    CHECK(within(e.operating_point.cathode_v, c.cathode_v, 0.06));
    CHECK(within(-e.small_signal.gain[0], c.gain_1, 0.06));
    CHECK(within(e.small_signal.gain[1], c.gain_2, 0.06));
    const double mean = 0.5 * (e.at_target.thd_pct[0] + e.at_target.thd_pct[1]);
    MESSAGE("THD per side ", e.at_target.thd_pct[0], " ", e.at_target.thd_pct[1], " printed ", c.thd_pct);
    // The printed case does not say which output stands at 20 V rms; the two differ by 2 %, and distortion
    // goes with the square of the level or faster: 5 %, and half of the last digit.
    CHECK(within(mean, c.thd_pct, 0.05 * c.thd_pct + (c.thd_pct < 2 ? 0.005 : 0.05)));
  }
}

TEST_CASE("two published circuits of an ECC82 as gain stage and split load") {
  // From memory: Philips ECC82 data sheet, 1959: the currents, the gain to each output, and the distortion at
  // an output level, of a stage with 220 k in the plate. "A": 3.9 k bypassed, then through a capacitor 15 k
  // in the plate, 1 k + 14 k in the cathode, leak 680 k. "B": 7.8 k bypassed, then directly 150 k in plate
  // and cathode. Its loads are not printed: 680 k are taken. Currents and gains within the 15 % by which the
  // sheet's own single stages scatter about its curves (resistance_coupled_test.cpp), distortion within a
  // factor of 2: second harmonics of the two sections partly cancel.
  // The level is that between both outputs: of "B" the printed numbers allow no other. At each output it
  // would leave the section less, plate to cathode, than the printed currents need with the grid at the
  // cathode (the sheet's 100 V and 11.8 mA, down along Child's law). "A" has room for it at each output as
  // well, where its distortion is held too.
  struct Row {
    BiasForm bias;
    double supply_v, first_a, splitter_a, out_v_rms, thd_pct;
  };
  const Row rows[] = {{BiasForm::self_biased, 250, 0.82e-3, 4.5e-3, 13, 1.5},
                      {BiasForm::self_biased, 350, 1.16e-3, 6.3e-3, 20, 1.5},
                      {BiasForm::direct_coupled, 250, 0.70e-3, 0.68e-3, 15, 1},
                      {BiasForm::direct_coupled, 350, 1.00e-3, 0.93e-3, 24, 1}};
  const auto library = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
  REQUIRE(std::holds_alternative<TubeLibrary>(library));
  const Tube* tube = std::get<TubeLibrary>(library).find("ECC82");
  REQUIRE(tube);
  for (const Row& row : rows) {
    const bool direct = row.bias == BiasForm::direct_coupled;
    const double in_plate_ohm = direct ? 150e3 : 15e3, peak_v = row.out_v_rms * std::sqrt(2.0);
    const double left_v = row.supply_v - 2 * row.splitter_a * in_plate_ohm - 2 * peak_v;
    const double most_a = row.splitter_a + peak_v / in_plate_ohm;
    const bool room_at_each = left_v > 100 * std::pow(most_a / 11.8e-3, 2.0 / 3.0);
    CHECK(room_at_each == !direct);
    Design d;
    d.circuit = CircuitKind::gain_and_split_load;
    d.tube[0] = d.first_stage.tube = tube;
    d.supply_v = row.supply_v;
    d.bias.form = row.bias;
    d.bias.ohm = 1e3;
    d.plate_ohm = direct ? std::array{150e3, 150e3} : std::array{15e3, 14e3};
    d.first_stage.plate_ohm = 220e3;
    d.first_stage.cathode_ohm = direct ? 7.8e3 : 3.9e3;
    d.grid_leak_ohm = d.load_ohm = 680e3;
    d.swing_peak_v = peak_v / 2;
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    const OperatingPoint& o = e.operating_point;
    MESSAGE("printed ", 1e3 * row.first_a, " and ", 1e3 * row.splitter_a, " mA, gain 11, ", row.thd_pct,
            " %; solved ", 1e3 * o.first.plate_current_a, " and ", 1e3 * o.plate_current_a[0], " mA, gain ",
            e.small_signal.gain[0], " and ", e.small_signal.gain[1], ", ", e.at_target.thd_differential_pct,
            " %");
    CHECK(within_ratio(o.first.plate_current_a, row.first_a, 0.15));
    CHECK(within_ratio(o.plate_current_a[0], row.splitter_a, 0.15));
    CHECK(within_ratio(-e.small_signal.gain[1], 11, 0.15));
    CHECK(e.at_target.thd_differential_pct < 2 * row.thd_pct);
    CHECK(e.at_target.thd_differential_pct > row.thd_pct / 2);
    if (!room_at_each) continue;
    d.swing_peak_v = peak_v;
    evaluate(d, Depth::at_target, e);
    REQUIRE(e.at_target.solved == Solved::yes);
    CHECK(e.at_target.thd_pct[1] < 2 * row.thd_pct);
  }
}
