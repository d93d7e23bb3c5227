// Feedback against the classical formulas: Bode's loops with simple poles, Black's 1 + T.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "stagemodels/evaluate.h"
#include "stagemodels/linear/feedback.h"
#include "stagemodels/linear/loop_margins.h"
#include "stagemodels/linear/network.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

using Complex = std::complex<double>;
constexpr double kDegrees = 180 / std::numbers::pi;

Design fed_back(const Tube& first, const Tube& pair, BiasForm bias) {
  Design d = pair_of(pair, bias);
  d.circuit = CircuitKind::gain_and_splitter;
  d.plate_ohm = {47e3, 51e3};  // about 1.5 mA a section, every form
  d.bias.ohm = 1200;
  d.tail.ohm = bias == BiasForm::self_biased ? 15e3 : bias == BiasForm::direct_coupled ? 47e3 : 33e3;
  d.first_stage.tube = &first;
  d.first_stage.plate_ohm = bias == BiasForm::direct_coupled ? 220e3 : 150e3;
  d.first_stage.cathode_ohm = 1800;
  d.first_stage.cathode_unbypassed_ohm = 100;
  d.feedback = {
      .given = true, .wanted_db = 8, .source_v_rms = 1, .output_gain = 0.4, .output_impedance_ohm = 6};
  return d;
}

/// A loop gain told for one frequency, for many.
template <class Loop>
LoopGain each_alone(const Loop& loop) {
  return [loop](std::span<const double> hz, std::span<Complex> out) {
    for (std::size_t n = 0; n < hz.size(); ++n) out[n] = loop(hz[n]);
  };
}

}  // namespace

TEST_CASE("three equal poles: margins of the closed formulas, above mid-band and below it") {
  // Bode 1945: 60 degrees each at sqrt(3) times the corner, where each pole halves the gain.
  for (const double t0 : {2.0, 5.0, 7.9})
    for (const bool low : {false, true}) {
      const double corner_hz = low ? 10 : 1e5;
      const auto loop = [&](double hz) {
        const double x = low ? corner_hz / hz : hz / corner_hz;
        return t0 / std::pow(Complex(1, low ? -x : x), 3);
      };
      const LoopMargins m = loop_margins(each_alone(loop), 1e3, {0, 0});
      const double root3 = std::numbers::sqrt3;
      REQUIRE(m.gain_margin_db);
      CHECK(within(*m.gain_margin_db, 20 * std::log10(8 / t0), 1e-3));
      CHECK(within_ratio(*m.gain_margin_hz, low ? corner_hz / root3 : corner_hz * root3, 1e-4));
      const double x = std::sqrt(std::pow(t0, 2.0 / 3) - 1);
      REQUIRE(m.phase_margin_deg);
      CHECK(within(*m.phase_margin_deg, 180 - 3 * std::atan(x) * kDegrees, 1e-3));
      REQUIRE(m.room);
      CHECK(within_ratio(*m.room, 8 / t0, 1e-4));
      // 6 dB of gain margin kept: a ratio of 10^(6/20).
      const LoopMargins spared = loop_margins(each_alone(loop), 1e3, {6, 0});
      REQUIRE(spared.room);
      CHECK(within_ratio(*spared.room, 8 / t0 / std::pow(10, 0.3), 1e-4));
      // 60 degrees left: each pole turns by 40 degrees at most.
      const LoopMargins careful = loop_margins(each_alone(loop), 1e3, {0, 60});
      REQUIRE(careful.room);
      CHECK(within_ratio(*careful.room, std::pow(1 / std::cos(40 / kDegrees), 3) / t0, 1e-4));
    }
}

TEST_CASE("one pole has no gain margin to lose, two come near the turn and never reach it") {
  const auto one = [](double hz) { return Complex(100) / Complex(1, hz / 1e4); };
  const LoopMargins m = loop_margins(each_alone(one), 1e3, {6, 45});
  CHECK_FALSE(m.gain_margin_db);
  REQUIRE(m.phase_margin_deg);
  CHECK(within(*m.phase_margin_deg, 180 - std::atan(std::sqrt(100.0 * 100 - 1)) * kDegrees, 0.2));
  CHECK_FALSE(m.room);
  const auto two = [&](double hz) { return one(hz) / Complex(1, hz / 1e5); };
  CHECK_FALSE(loop_margins(each_alone(two), 1e3, {6, 0}).gain_margin_db);
  CHECK(loop_margins(each_alone(two), 1e3, {6, 45}).room);
}

TEST_CASE("the resistor brings the feedback asked for, and everything falls by 1 + T") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const double db : {1.0, 8.0, 20.0}) {
      Design d = fed_back(high, low, bias);
      d.feedback.wanted_db = db;
      d.swing_peak_v = 2;
      Evaluation e;
      evaluate(d, Depth::with_frequency, e);
      const FeedbackFigures& f = e.feedback;
      REQUIRE(f.known);
      REQUIRE(f.reached);
      CHECK(within(f.feedback_db, db, 1e-6));
      const double down = std::pow(10, db / 20);
      CHECK(within_ratio(1 + f.loop_gain, down, 1e-8));
      CHECK(within_ratio(f.open_gain / f.closed_gain, down, 1e-8));
      CHECK(within_ratio(*f.distortion_pct, e.at_target.thd_differential_pct / down, 1e-8));
      CHECK(within_ratio(f.sensitivity_v_rms * f.closed_gain * std::numbers::sqrt2,
                         d.swing_peak_v * d.feedback.output_gain, 1e-8));
      // Nothing takes part but the resistors: T is what they send back, Black's mu beta.
      Design given = d;
      given.feedback.resistor_ohm = f.resistor_ohm;
      Evaluation same;
      evaluate(given, Depth::with_frequency, same);
      CHECK(within_ratio(same.feedback.loop_gain, f.loop_gain, 1e-9));
    }
}

TEST_CASE("much loop gain leaves the gain to the two resistors alone") {
  // Black: with T without end the closed loop's gain is 1 / beta. No plate signal is left, so no signal
  // current flows: gm (vg - vk) = vk / rp, and the cathode follows the grid by mu / (mu + 1); from the load
  // to it R_f and R_u divide by 1 + R_f / R_u. All of the cathode resistor is unbypassed; T is made large by
  // the output stage.
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = fed_back(high, low, BiasForm::self_biased);
  d.first_stage.cathode_ohm = d.first_stage.cathode_unbypassed_ohm = 1800;
  d.feedback.resistor_ohm = 18e3;
  double before = 1;
  for (const double gain : {10.0, 100.0, 1000.0, 10000.0}) {
    d.feedback.output_gain = gain;
    Evaluation e;
    evaluate(d, Depth::with_frequency, e);
    REQUIRE(e.feedback.known);
    const double mu = e.operating_point.first.mu;
    const double ideal = (1 + d.feedback.resistor_ohm / d.first_stage.cathode_unbypassed_ohm) * mu / (mu + 1);
    const double off = std::abs(e.feedback.closed_gain / ideal - 1);
    CHECK(off < before);
    before = off;
  }
  CHECK(before < 1e-3);
}

TEST_CASE("a loaded block: impedance with feedback by Blackman's formula") {
  const Tube high = tube_with(kKoren12AX7), low = tube_with(kKoren12AU7);
  Design d = fed_back(high, low, BiasForm::negative_rail);
  Evaluation e;
  evaluate(d, Depth::with_frequency, e);
  REQUIRE(e.feedback.known);
  const double unloaded = (8 + 6) / 8.0;  // gain without the load over gain with it
  CHECK(within_ratio(e.feedback.output_impedance_ohm, 6 / (1 + e.feedback.loop_gain * unloaded), 1e-9));
  d.first_stage.cathode_unbypassed_ohm = 0;
  evaluate(d, Depth::with_frequency, e);
  CHECK_FALSE(e.feedback.known);  // no place to come in
}

TEST_CASE("the prepared transfer is that of the nodal equations, solved at each frequency") {
  const Tube first = tube_with(kKoren12AX7), pair = tube_with(kKoren12AU7);
  for (const BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail})
    for (const double lead_f : {0.0, 1e-9}) {
      Design d = fed_back(first, pair, bias);
      d.feedback.lead_f = lead_f;
      d.source_ohm = 47e3;
      d.load_f = 60e-12;
      d.coupling_f = 100e-9;
      d.grid_bypass_f = 1e-6;
      d.first_stage.cathode_bypass_f = 220e-6;
      Evaluation e;
      evaluate(d, Depth::rest, e);
      REQUIRE(e.operating_point.solved == Solved::yes);
      const LinearNetwork network =
          LinearNetwork::with_feedback(d, e.operating_point, 10e3, LinearNetwork::Capacitances::all);
      const Transfer transfer = network.feedback_transfer();
      const double mid_band = std::abs(transfer.at(1e3));
      for (double hz = 1e-3; hz < 2e9; hz *= 3) {
        const LinearResponse r = network.from_feedback(hz);
        const Complex want = 0.5 * (r.output[0] - r.output[1]);
        INFO(hz);
        // Rounding of the reduced form: that of its longest time constant, some seconds, and where capacitors
        // let hardly anything through, that of what they hold back.
        CHECK(std::abs(transfer.at(hz) - want) < 1e-12 * (1 + hz) * std::abs(want) + 1e-14 * mid_band);
      }
    }
}

TEST_CASE(
    "a source of the sensitivity that is said gives full drive with nothing to spare, twice as much 6 dB") {
  const Tube first = tube_with(kKoren12AX7), pair = tube_with(kKoren12AU7);
  Design d = fed_back(first, pair, BiasForm::self_biased);
  Evaluation e;
  evaluate(d, Depth::with_frequency, e);
  REQUIRE(e.feedback.known);
  const double sensitivity_v_rms = e.feedback.sensitivity_v_rms;
  for (const double times : {1.0, 2.0, 0.5}) {
    d.feedback.source_v_rms = times * sensitivity_v_rms;
    evaluate(d, Depth::with_frequency, e);
    CHECK(within(e.feedback.spare_db, 20 * std::log10(times), 1e-6));
    // full drive is the target of one output, peak; the loop takes 1 + T of it back
    CHECK(within_ratio(
        e.feedback.gain_needed,
        (1 + e.feedback.loop_gain) * d.swing_peak_v / (std::sqrt(2.0) * d.feedback.source_v_rms), 1e-12));
  }
}

// Bode 1945, chapter on the design of single loops: a resistor with a capacitor across it, into a resistance,
// has a zero at 1 / (2 pi R C) and a pole at 1 / (2 pi C (R || Rin)). Rin is what is seen at the place where
// the feedback comes in: the unbypassed resistor beside the cathode's (rp + RL) / (mu + 1).
TEST_CASE("a capacitor across the feedback resistor gives the loop a zero and a pole") {
  const Tube first = tube_with(kKoren12AX7), pair = tube_with(kKoren12AU7);  // no capacitances of their own
  Design d = fed_back(first, pair, BiasForm::negative_rail);
  constexpr double kFeedback_ohm = 4700, kLead_f = 2.2e-9;
  d.feedback.resistor_ohm = kFeedback_ohm;
  Design lead = d;
  lead.feedback.lead_f = kLead_f;
  Evaluation plain, led;
  evaluate(d, Depth::with_frequency, plain);
  evaluate(lead, Depth::with_frequency, led);
  REQUIRE(plain.feedback.known);
  REQUIRE(led.feedback.known);
  const SectionRest& f = plain.operating_point.first;
  const double load_ohm = 1 / (1 / d.first_stage.plate_ohm + 1 / d.grid_leak_ohm);
  const double cathode_ohm = (f.rp_ohm + load_ohm) / (f.mu + 1);
  const double in_ohm = 1 / (1 / d.first_stage.cathode_unbypassed_ohm + 1 / cathode_ohm);
  const double zero_hz = 1 / (2 * std::numbers::pi * kFeedback_ohm * kLead_f);
  const double pole_hz = zero_hz * (kFeedback_ohm + in_ohm) / in_ohm;
  const auto network = [](const Design& of, const Evaluation& e) {
    return LinearNetwork::with_feedback(of, e.operating_point, kFeedback_ohm,
                                        LinearNetwork::Capacitances::all);
  };
  const LinearNetwork without = network(d, plain), with = network(lead, led);
  for (const double hz : {1.0, 1e3, zero_hz, 3e5, pole_hz, 1e8}) {
    const Complex want = Complex(1, hz / zero_hz) / Complex(1, hz / pole_hz);
    const Complex got = with.from_feedback(hz).output[0] / without.from_feedback(hz).output[0];
    CAPTURE(hz);
    CHECK(std::abs(got / want - 1.0) < 1e-6);
  }
  // At mid-band it is nothing, and neither is it in the figures without feedback.
  CHECK(within_ratio(led.feedback.loop_gain, plain.feedback.loop_gain, 1e-12));
  CHECK(led.frequency.high_corner_hz[0] == plain.frequency.high_corner_hz[0]);

  // The margins are those of the loop so corrected, with the output stage's own pole.
  lead.feedback.high_hz = d.feedback.high_hz = 30e3;
  lead.feedback.output_gain = d.feedback.output_gain = 8;
  evaluate(d, Depth::with_frequency, plain);
  evaluate(lead, Depth::with_frequency, led);
  const double t0 = plain.feedback.loop_gain;
  CHECK(t0 > 10);
  const auto loop = [&](double hz) {
    return t0 * Complex(1, hz / zero_hz) / Complex(1, hz / pole_hz) / Complex(1, hz / 30e3);
  };
  const LoopMargins want = loop_margins(each_alone(loop), 1e3, {6, 45});
  REQUIRE(want.phase_margin_deg);
  REQUIRE(plain.feedback.margins.phase_margin_deg);
  REQUIRE(led.feedback.margins.phase_margin_deg);
  CHECK(within(*led.feedback.margins.phase_margin_deg, *want.phase_margin_deg, 1e-3));
  CHECK(within_ratio(*led.feedback.margins.phase_margin_hz, *want.phase_margin_hz, 1e-5));

  // With a second pole, where the outputs meet a capacitance, it turns back some of what both turn.
  lead.load_f = d.load_f = 1e-9;
  evaluate(d, Depth::with_frequency, plain);
  evaluate(lead, Depth::with_frequency, led);
  REQUIRE(plain.feedback.margins.phase_margin_deg);
  REQUIRE(led.feedback.margins.phase_margin_deg);
  CHECK(*led.feedback.margins.phase_margin_deg > *plain.feedback.margins.phase_margin_deg + 10);
}
