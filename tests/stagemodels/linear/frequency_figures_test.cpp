// The figures and the curve: that they are what their definitions say.
#include "stagemodels/linear/frequency_figures.h"

#include <doctest/doctest.h>

#include "stagemodels/evaluate.h"
#include "stagemodels/linear/network.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

TEST_CASE("the curve goes ten points a decade, and each is the network's answer there") {
  Tube tube = tube_with(kKoren12AX7);
  tube.capacitance = {1.7e-12, 1.6e-12, 0.4e-12, "RCA 12AX7-A data sheet, 1960"};
  Design d = pair_of(tube);
  d.coupling_f = 100e-9;
  d.grid_bypass_f = 100e-9;
  d.source_ohm = 10e3;
  Evaluation e;
  evaluate(d, Depth::everything, e);
  REQUIRE(e.frequency_known);
  const auto& curve = e.frequency.curve;
  CHECK(within_ratio(curve.front().frequency_hz, 0.1, 1e-12));
  CHECK(within_ratio(curve.back().frequency_hz, 1e6, 1e-12));
  CHECK(within_ratio(curve[11].frequency_hz / curve[10].frequency_hz, std::pow(10, 0.1), 1e-12));
  const LinearNetwork network(d, e.operating_point);
  for (const FrequencyPoint& p : curve) {
    const LinearResponse r = network.from_input(p.frequency_hz);
    CHECK(p.gain == r.output);
    CHECK(p.input_ohm == r.input_ohm);
    const double a = std::abs(r.output[0]), b = std::abs(r.output[1]);
    CHECK(within(p.balance_pct, 100 * (a - b) / (0.5 * (a + b)), 1e-9));
    // turning output 2 by 180 degrees and by the deviation gives the phase of output 1
    const auto turned = -r.output[1] / b * std::polar(1.0, p.opposite_deg * std::numbers::pi / 180);
    CHECK(std::abs(turned - r.output[0] / a) < 1e-9);
  }
  // 1 kHz and 20 Hz stand among the figures too
  CHECK(within_ratio(curve[40].frequency_hz, 1e3, 1e-12));
  CHECK(within(curve[40].balance_pct, e.frequency.balance[1].amplitude_pct, 1e-9));
  CHECK(within(curve[40].opposite_deg, e.frequency.balance[1].phase_deg, 1e-9));
}

TEST_CASE("the depth with frequency has the figures and no curve") {
  const Tube tube = tube_with(kKoren12AX7);
  Design d = pair_of(tube);
  d.coupling_f = 100e-9;
  Evaluation whole, part;
  evaluate(d, Depth::everything, whole);
  evaluate(d, Depth::with_frequency, part);
  REQUIRE(part.frequency_known);
  CHECK(part.frequency.low_corner_hz == whole.frequency.low_corner_hz);
  CHECK(part.frequency.noise.difference_v_rms == whole.frequency.noise.difference_v_rms);
  CHECK(part.frequency.noise.difference_v_rms > 0);
  CHECK(part.frequency.curve.front().frequency_hz == 0);
  evaluate(d, Depth::full, part);
  CHECK_FALSE(part.frequency_known);
}

TEST_CASE("a stage that passes nothing has no figures against frequency") {
  const Tube tube = tube_of(100, 62.5e3);
  const Design d = gain_stage(tube, 100e3, 330e3, 1500);
  OperatingPoint rest = rest_of(100);
  rest.grid_to_cathode_v = {-1000, -1000};  // cut off
  FrequencyFigures f;
  CHECK_FALSE(frequency_figures(d, rest, frequency_part::all, f));
}

TEST_CASE("whatever a design is, nothing comes back that is no number") {
  // over ranges far beyond what a brief allows
  RandomNumbers random{std::mt19937_64(3)};
  Tube tube = tube_with(kRsd2, -0.3);
  tube.capacitance = {2.4e-12, 2.3e-12, 0.9e-12, "DAFx-11 paper"};
  int known = 0;
  for (int n = 0; n < 2000; ++n) {
    Design d = any_stage(random, tube);
    d.plate_ohm = {random.log_between(1e3, 1e7), random.log_between(1e3, 1e7)};
    d.load_ohm = random.log_between(1, 1e12);
    d.grid_leak_ohm = random.log_between(1, 1e8);
    d.source_ohm = random.log_between(1e-3, 1e8);
    d.load_f = random.log_between(1e-15, 1e-6);
    for (double Design::*c : {&Design::coupling_f, &Design::grid_bypass_f, &Design::input_coupling_f,
                              &Design::cathode_bypass_f, &Design::reservoir_f})
      if (random.below(3) > 0) d.*c = random.log_between(1e-15, 1);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    if (random.below(2)) {  // the linearised part alone
      d.main_supply_v = 400;
      d.dropping_ohm = random.log_between(1, 1e7);
    }
    FrequencyFigures f;
    if (!frequency_figures(d, e.operating_point, frequency_part::all, f)) continue;
    ++known;
    bool finite = std::isfinite(f.input_f) && std::isfinite(f.ripple_difference_v_per_v) &&
                  std::isfinite(f.noise.input_v_rms) && std::isfinite(f.noise.difference_below_target_db);
    for (const auto& corner :
         {f.low_corner_hz[0], f.low_corner_hz[1], f.high_corner_hz[0], f.high_corner_hz[1]})
      finite = finite && std::isfinite(corner.value_or(1)) && corner.value_or(1) > 0;
    for (const FrequencyPoint& p : f.curve)
      finite = finite && std::isfinite(std::norm(p.gain[0])) && std::isfinite(p.opposite_deg) &&
               std::isfinite(std::norm(p.input_ohm));
    CHECK(finite);
  }
  CHECK(known > 200);
}
