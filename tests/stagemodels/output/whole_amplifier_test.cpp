// Front end and output stage in one loop.
#include "stagemodels/output/whole_amplifier.h"

#include <doctest/doctest.h>

#include <cmath>

#include "configs/read_design.h"
#include "stagemodels/evaluate.h"
#include "tests/support/shipped.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

Design example() {
  auto read = read_design(ANTIPHASE_SOURCE "/configs/designs/whole_amplifier.json", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Design>(read);
}

Evaluation all_of_it(Design d) {
  PairFigures figures;
  REQUIRE(follow_output_stage(d, figures) == Solved::yes);
  Evaluation e;
  evaluate(d, Depth::everything, e);
  return e;
}

}  // namespace

TEST_CASE("the swing, the bias and the block of feedback follow from the watts") {
  const Design d = example();
  CHECK(d.output_valve == shipped().find_output_valve("6L6GC"));
  CHECK(d.output_valve_bias_v == -22.5);
  CHECK(d.output_valve_bias == OutputBias::fixed);
  CHECK(d.feedback.load_ohm == 8);
  // Published: 26.5 W for 22.5 V (RCA manual, from memory); 20 W take the root of their ratio of it, a little
  // more for the windings' 5 %.
  CHECK(within_ratio(d.swing_peak_v, 22.5 * std::sqrt(20 * 1.05 / 26.5), 0.1));
  // What the two-load formula of IEC 60268-3 shows at the load: some 20 kohm a plate over the square of the
  // turns.
  CHECK(d.feedback.output_impedance_ohm > 20);
  CHECK(d.feedback.output_impedance_ohm < 200);
}

TEST_CASE("a driver that is all but ideal brings the pair what the pair asked for") {
  Design d = example();
  d.output_stage.watts = 4;  // far from the crest, where the driver is clean
  const Evaluation e = all_of_it(d);
  REQUIRE(e.output_stage.driven.solved == Solved::yes);
  // The smaller of the two outputs has the swing; the other may be as much larger as they are out of balance.
  const double most = 1 + std::abs(e.at_target.balance_pct) / 100;
  CHECK(e.output_stage.driven.power_w >= 4 * 0.999);
  CHECK(e.output_stage.driven.power_w <= 4 * most * most);
}

TEST_CASE(
    "with feedback the distortion of the whole falls by 1 + T where it is small, and the watts are kept") {
  // Black 1934: over 1 + T, in the limit of small drive, for what is of even order and for what is of odd
  // order as far as no second harmonic goes round the loop; a balanced pair has next to none.
  for (const double watts : {0.05, 0.5}) {
    Design d = example();
    d.output_stage.watts = watts;
    const Evaluation e = all_of_it(d);
    const auto& c = e.output_stage.closed;
    REQUIRE(c.solved == Solved::yes);
    CHECK(within_ratio(c.power_w, watts, 1e-6));
    CHECK(within_ratio(c.thd_pct, c.predicted_thd_pct, 0.05));
    CHECK(within_ratio(c.predicted_thd_pct * (1 + e.feedback.loop_gain), c.open_thd_pct, 1e-9));
    // The source: as much as the gain with the loop closed asks for (the gain at rest is that of small
    // drive).
    CHECK(within_ratio(c.source_v_rms * e.feedback.closed_gain, std::sqrt(watts * 8), 0.02));
  }
}

TEST_CASE(
    "near full power feedback does not bring what 1 + T promises, since the loop gain falls at the crest") {
  Design d = example();
  d.output_stage.watts = 26;
  const Evaluation e = all_of_it(d);
  const auto& c = e.output_stage.closed;
  REQUIRE(c.solved == Solved::yes);
  CHECK(within_ratio(c.power_w, 26, 1e-6));
  CHECK(c.thd_pct < c.open_thd_pct);
  CHECK(c.thd_pct > c.predicted_thd_pct);
}

TEST_CASE("more watts than a pair has are out of reach") {
  Design d = example();
  d.output_stage.watts = 500;
  PairFigures figures;
  CHECK(follow_output_stage(d, figures) == Solved::target_out_of_reach);
}
