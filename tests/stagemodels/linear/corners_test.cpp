// Corners: what they are by definition, on stages drawn at random.
#include "stagemodels/linear/corners.h"

#include <doctest/doctest.h>

#include "stagemodels/evaluate.h"
#include "tests/stagemodels/linear/linear_stage.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Tube real_tube() {
  Tube tube = tube_with(kKoren12AX7);
  tube.capacitance = {1.7e-12, 1.6e-12, 0.4e-12, "RCA 12AX7-A data sheet, 1960"};
  return tube;
}

}  // namespace

TEST_CASE("mid-band from the source is the small-signal gain behind source and input resistance") {
  RandomNumbers random{std::mt19937_64(41)};
  const Tube tube = real_tube();
  int seen = 0;
  for (int n = 0; n < 300; ++n) {
    const Design d = any_stage(random, tube);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    const SmallSignal& s = e.small_signal;
    const bool direct = d.circuit == CircuitKind::long_tailed_pair && d.bias.form == BiasForm::direct_coupled;
    // directly coupled, the leak of grid 2 hangs on grid 1 and ends at ground by its bypass
    const double input_ohm = direct ? d.grid_leak_ohm : s.input_ohm;
    const double share = input_ohm / (input_ohm + d.source_ohm);
    const Pair mid = mid_band_gain(d, e.operating_point);
    for (int i = 0; i < sections(d.circuit); ++i) CHECK(within_ratio(mid[i], s.gain[i] * share, 1e-7));
    ++seen;
  }
  CHECK(seen > 200);
}

TEST_CASE("at a corner the output is 3 dB down, and nowhere between the corners") {
  RandomNumbers random{std::mt19937_64(42)};
  const Tube tube = real_tube();
  int seen = 0, most = 0;
  for (int n = 0; n < 300; ++n) {
    Design d = any_stage(random, tube);
    d.coupling_f = random.log_between(10e-9, 1e-6);
    if (random.below(2)) d.grid_bypass_f = random.log_between(10e-9, 1e-6);
    if (random.below(2)) d.input_coupling_f = random.log_between(10e-9, 1e-6);
    if (random.below(2)) d.cathode_bypass_f = random.log_between(1e-6, 100e-6);
    Evaluation e;
    evaluate(d, Depth::small_signal, e);
    if (e.operating_point.solved != Solved::yes) continue;
    const Pair mid = mid_band_gain(d, e.operating_point);
    const LinearNetwork network(d, e.operating_point);
    const Corners corners = find_corners(network, mid);
    REQUIRE(corners.has_band);
    most = std::max(most, corners.solutions);
    ++seen;
    for (int i = 0; i < network.outputs(); ++i) {
      REQUIRE(corners.low_hz[i]);
      REQUIRE(corners.high_hz[i]);
      const auto share = [&](double hz) { return std::abs(network.from_input(hz).output[i] / mid[i]); };
      CHECK(within_ratio(share(*corners.low_hz[i]), std::sqrt(0.5), 1e-7));
      CHECK(within_ratio(share(*corners.high_hz[i]), std::sqrt(0.5), 1e-7));
      const double ratio = *corners.high_hz[i] / *corners.low_hz[i];
      for (int k = 1; k < 60; ++k)
        CHECK(share(*corners.low_hz[i] * std::pow(ratio, k / 60.0)) > std::sqrt(0.5));
    }
    const double low = std::max(*corners.low_hz[0], corners.low_hz[1].value_or(0));
    CHECK(holds_down_to(low * 1.0001, network, mid));
    CHECK_FALSE(holds_down_to(low * 0.9999, network, mid));
  }
  CHECK(seen > 200);
  CHECK(most <= 45);
  MESSAGE("most solutions of the network for the corners of one stage: " << most);
}

TEST_CASE("an output that is nowhere in its band has no corners") {
  const Tube tube = tube_of(100, 62.5e3);
  Design d = gain_stage(tube, 100e3, 330e3, 1500);
  d.coupling_f = 1e-12;  // with a load of a thousandfold its size
  d.load_f = 1e-9;
  const Corners c = find_corners(LinearNetwork(d, rest_of(100)), mid_band_gain(d, rest_of(100)));
  CHECK_FALSE(c.has_band);
  CHECK_FALSE(c.low_hz[0]);
  CHECK_FALSE(c.high_hz[0]);
}
