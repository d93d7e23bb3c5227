// Intermodulation from one tone's levels: closed forms of a cubic, and a plain two-tone sum of a bent curve.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "stagemodels/evaluate.h"
#include "stagemodels/solve/two_tone_instants.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

template <class Curve>
Row wave_of(Curve&& curve) {
  Row wave{};
  for (int k = 0; k < kInstants; ++k) wave[k] = curve(cycle_instants().cosine[k]);
  return wave;
}

}  // namespace

TEST_CASE("what stands still has that mean and no products") {
  for (const TwoToneInstants* t : {&low_and_high_instants(), &close_pair_instants()}) {
    const auto sum = [&](const Row& weights) {
      double all = 0;
      for (int k = 0; k < t->instants.count; ++k) all += weights[static_cast<std::size_t>(k)];
      return all;
    };
    CHECK(within(sum(t->instants.mean), 1, 1e-12));
    for (const Row* weights : {&t->low, &t->high, &t->both, &t->twice_low, &t->twice_high})
      CHECK(within(sum(*weights), 0, 1e-12));
  }
}

TEST_CASE("products of a cubic are those of its closed form") {
  // y = x + 0.02 x^2 + 0.01 x^3, peak 1. Expectations worked out by hand from the cubic's Fourier
  // coefficients: IEC 60268-3:2013 14.12.7 and 14.12.8 define d_2 and d_3 (values also in the project's list
  // of facts, 8.3).
  const Row wave = wave_of([](double x) { return x + 0.02 * x * x + 0.01 * x * x * x; });
  const double a = 0.8, b = 0.2;
  const double high = b + 0.01 * (0.75 * b * b * b + 1.5 * a * a * b);
  const IntermodulationFigures::Products m = low_and_high_products(wave);
  CHECK(within_ratio(m.second_pct, 100 * 0.02 * 2 * a * b / high, 1e-10));
  CHECK(within_ratio(m.third_pct, 100 * 0.01 * 1.5 * a * a * b / high, 1e-10));
  CHECK(within(m.second_pct, 3.169, 0.001));
  CHECK(within(m.third_pct, 0.951, 0.001));
  CHECK(within(m.total_pct, 2.339, 0.001));
  const IntermodulationFigures::Products d = close_pair_products(wave);
  CHECK(within(d.second_pct, 0.497, 0.001));
  CHECK(within(d.third_pct, 0.186, 0.001));
}

TEST_CASE("products of a bent curve are those of a two-tone signal put through it") {
  const auto curve = [](double x) { return std::tanh(0.9 * x) + 0.05 * x * x; };
  const Row wave = wave_of(curve);
  constexpr int n = 200;
  const auto component = [&](double a, double b, int p, int q) {
    double sum = 0;
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n; ++j) {
        const double s = 2 * std::numbers::pi * i / n, t = 2 * std::numbers::pi * j / n;
        sum += curve(a * std::cos(s) + b * std::cos(t)) * std::cos(p * s) * std::cos(q * t);
      }
    return sum * (p > 0 ? 2 : 1) * (q > 0 ? 2 : 1) / (n * n);
  };
  const IntermodulationFigures::Products m = low_and_high_products(wave), d = close_pair_products(wave);
  const double high = component(0.8, 0.2, 0, 1);
  CHECK(within(m.second_pct, 100 * std::abs(component(0.8, 0.2, 1, 1) / high), 1e-4));
  CHECK(within(m.third_pct, 100 * std::abs(component(0.8, 0.2, 2, 1) / high), 1e-4));
  const double tones = 2 * component(0.5, 0.5, 1, 0);
  CHECK(within(d.second_pct, 100 * std::abs(0.5 * component(0.5, 0.5, 1, 1) / tones), 1e-4));
  CHECK(within(d.third_pct, 100 * std::abs(component(0.5, 0.5, 2, 1) / tones), 1e-4));
}

TEST_CASE("a stage's products follow from its harmonics while distortion is small") {
  // Same peak A: d_m,2 = 3.2 HD2, d_m,3 = 3.84 HD3, d_d,2 = 0.5 HD2, d_d,3 = 0.75 HD3 (a memoryless cubic,
  // worked out); the stage's higher orders add little at a tenth of its swing.
  const Tube tube = tube_with(kKoren12AX7);
  for (BiasForm bias : {BiasForm::self_biased, BiasForm::direct_coupled, BiasForm::negative_rail}) {
    Design d = pair_of(tube, bias);
    d.swing_peak_v = 4;
    Evaluation e;
    evaluate(d, Depth::everything, e);
    REQUIRE(e.intermodulation.solved == Solved::yes);
    for (int o = 0; o < 2; ++o) {
      const double hd2 = e.at_target.harmonic_pct(o, 2), hd3 = e.at_target.harmonic_pct(o, 3);
      const auto& m = e.intermodulation.low_and_high[o];
      const auto& p = e.intermodulation.close_pair[o];
      CHECK(within(m.second_pct, 3.2 * hd2, 0.03 * 3.2 * hd2 + 1e-4));
      CHECK(within(m.third_pct, 3.84 * hd3, 0.03 * 3.84 * hd3 + 1e-4));
      CHECK(within(p.second_pct, 0.5 * hd2, 0.03 * 0.5 * hd2 + 1e-4));
      CHECK(within(p.third_pct, 0.75 * hd3, 0.03 * 0.75 * hd3 + 1e-4));
    }
  }
}
