// The transformer's ladder against the closed formulas of one and two elements, and against two simple poles
// in a loop.
#include "stagemodels/output/transformer_response.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "stagemodels/evaluate.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

using Complex = std::complex<double>;

double parallel(double a, double b) {
  return a * b / (a + b);
}

struct Values {
  OutputTransformer t;
  double plates_ohm, load_ohm, secondary_ohm;  ///< the latter two at the primary
};

Values random_values(RandomNumbers& random) {
  Values v;
  v.t = {.plate_to_plate_ohm = random.between(3e3, 12e3),
         .load_ohm = random.between(4, 16),
         .primary_ohm = random.between(0, 400),
         .secondary_ohm = random.between(0, 0.8)};
  v.plates_ohm = random.log_between(1e3, 60e3);
  v.load_ohm = v.t.plate_to_plate_ohm;
  v.secondary_ohm = v.t.secondary_ohm * v.t.plate_to_plate_ohm / v.t.load_ohm;
  return v;
}

bool close(Complex got, Complex want) {
  return std::abs(got - want) <= 1e-12 * std::abs(want);
}

}  // namespace

TEST_CASE("one element of a transformer is one simple pole, where the handbook's formulas have it") {
  // Primary inductance: w L is the resistance of plates and load in parallel; leakage: that of both in a row;
  // stray capacitance: 1/(w C) is the parallel one (Radiotron Designer's Handbook, 4th ed., chapter 5,
  // section 3, from memory).
  RandomNumbers random{std::mt19937_64(5)};
  for (int n = 0; n < 200; ++n) {
    Values v = random_values(random);
    const double before = v.plates_ohm + v.t.primary_ohm, behind = v.load_ohm + v.secondary_ohm;
    const double w = 2 * std::numbers::pi * random.log_between(1, 1e6), hz = w / (2 * std::numbers::pi);
    OutputTransformer t = v.t;
    t.primary_h = random.log_between(1, 300);
    CHECK(close(TransformerResponse(t, v.plates_ohm).at(hz),
                1.0 / (1.0 + parallel(before, behind) / Complex(0, w * t.primary_h))));
    t = v.t;
    t.leakage_h = random.log_between(1e-3, 1);
    CHECK(close(TransformerResponse(t, v.plates_ohm).at(hz),
                1.0 / (1.0 + Complex(0, w * t.leakage_h) / (before + behind))));
    t = v.t;
    t.primary_f = random.log_between(1e-11, 1e-8);
    CHECK(
        close(TransformerResponse(t, v.plates_ohm).at(hz),
              1.0 / (1.0 + Complex(0, w * t.primary_f) * parallel(v.plates_ohm, v.t.primary_ohm + behind))));
  }
}

TEST_CASE("leakage with stray capacitance on either side is the second-order section of the textbooks") {
  RandomNumbers random{std::mt19937_64(6)};
  for (int n = 0; n < 200; ++n) {
    Values v = random_values(random);
    v.t.secondary_ohm = v.secondary_ohm = 0;
    const double w = 2 * std::numbers::pi * random.log_between(1e2, 1e6), hz = w / (2 * std::numbers::pi);
    const Complex s(0, w);
    const double R = v.load_ohm, r = v.plates_ohm + v.t.primary_ohm;
    OutputTransformer t = v.t;
    t.leakage_h = random.log_between(1e-3, 1);
    t.secondary_f = random.log_between(1e-11, 1e-8);
    // r and L in a row into R with C across it
    CHECK(close(TransformerResponse(t, v.plates_ohm).at(hz),
                1.0 / (1.0 + s * (t.leakage_h + r * R * t.secondary_f) / (r + R) +
                       s * s * t.leakage_h * R * t.secondary_f / (r + R))));
    // the valves with C across them, into L and R in a row
    t.primary_f = t.secondary_f;
    t.secondary_f = 0;
    t.primary_ohm = 0;
    const double p = v.plates_ohm;
    CHECK(close(TransformerResponse(t, p).at(hz),
                1.0 / (1.0 + s * (t.leakage_h + p * R * t.primary_f) / (p + R) +
                       s * s * t.leakage_h * p * t.primary_f / (p + R))));
  }
}

TEST_CASE("a transformer of the famous size has the corners that its elements say") {
  // D. T. N. Williamson, Wireless World 53 (1947), April and May (from memory): triode-connected KT66 of 1.25
  // kohm each, 10 kohm from plate to plate, at least 100 H, at most 30 mH of leakage. The article prints no
  // -3 dB points that are at hand; these are the handbook's formulas for it: 2 kohm over 2 pi 100 H, and 12.5
  // kohm over 2 pi 30 mH.
  OutputTransformer t{.plate_to_plate_ohm = 10e3, .load_ohm = 15, .primary_h = 100, .leakage_h = 30e-3};
  const TransformerBand band = band_of(TransformerResponse(t, 2500));
  REQUIRE(band.low_hz);
  REQUIRE(band.high_hz);
  CHECK(within_ratio(*band.low_hz, 3.183, 1e-3));
  CHECK(within_ratio(*band.high_hz, 66.3e3, 1e-3));
  CHECK(band.peak_db == 0);
}

TEST_CASE("the valves' resistance is found again from the output impedance") {
  const OutputTransformer t{
      .plate_to_plate_ohm = 6600, .load_ohm = 8, .primary_ohm = 180, .secondary_ohm = 0.3};
  const double n2 = 6600 / 8.0;
  CHECK(within_ratio(plates_ohm(t, (40e3 + 180) / n2 + 0.3), 40e3, 1e-12));
}

TEST_CASE("a loop with inductance and capacitance alone has the margins of two simple poles") {
  // Both lie across the same resistance, so that the response is 1 / (1 + j (f/fh - fl/f)), where two
  // separate poles have 1 + fl/fh in place of the 1: 2e-4 of it here, a hundredth of a degree and of a
  // decibel.
  const Tube first = tube_with(kKoren12AU7), pair = tube_with(kKoren12AU7);
  const OutputValve valve = [] {
    OutputValve v;
    v.law = OutputValveLaw{SpaceCurrentPentode{}, {}, ""};
    return v;
  }();
  Design d = pair_of(pair);
  d.circuit = CircuitKind::gain_and_splitter;
  d.plate_ohm = {47e3, 51e3};
  d.bias.ohm = 1200;
  d.tail.ohm = 15e3;
  d.first_stage.tube = &first;
  d.first_stage.plate_ohm = 150e3;
  d.first_stage.cathode_ohm = 1800;
  d.first_stage.cathode_unbypassed_ohm = 100;
  d.coupling_f = 47e-9;
  d.load_f = 60e-12;
  d.feedback = {
      .given = true, .wanted_db = 12, .source_v_rms = 1, .output_gain = 0.4, .output_impedance_ohm = 30};
  Design two = d;
  d.output_stage.given = true;
  d.output_stage.pair.valve = {&valve, &valve};
  OutputTransformer& t = d.output_stage.pair.transformer;
  t = {.plate_to_plate_ohm = 6600, .load_ohm = 8, .primary_h = 50, .primary_f = 1e-9};
  const double across = parallel(plates_ohm(t, 30), 6600);
  two.feedback.low_hz = across / (2 * std::numbers::pi * t.primary_h);
  two.feedback.high_hz = 1 / (2 * std::numbers::pi * across * t.primary_f);
  Evaluation with, without;
  evaluate(d, Depth::with_frequency, with);
  evaluate(two, Depth::with_frequency, without);
  REQUIRE(with.feedback.known);
  const LoopMargins &a = with.feedback.margins, &b = without.feedback.margins;
  REQUIRE((a.phase_margin_deg && b.phase_margin_deg));
  CHECK_FALSE((a.gain_margin_db || b.gain_margin_db));  // three poles on each side would be needed
  CHECK(within(*a.phase_margin_deg, *b.phase_margin_deg, 0.1));
  CHECK(within_ratio(*a.phase_margin_hz, *b.phase_margin_hz, 1e-3));
  // Leakage and the secondary's capacitance turn the phase further than the poles ever do.
  t.leakage_h = 0.1;
  t.secondary_f = 1e-9;
  evaluate(d, Depth::with_frequency, with);
  CHECK(with.feedback.margins.gain_margin_db);
}
