#include "stagemodels/solve/two_tone_instants.h"

#include <cmath>
#include <numbers>

namespace antiphase {
namespace {

/// Coefficient of cos(m p) cos(n q) in T_h(a cos p + b cos q), by a rule that is exact for its degree.
double coefficient(int h, double a, double b, int m, int n) {
  constexpr int kPhases = 48;  // more than twice the degree and the order together
  double sum = 0;
  for (int i = 0; i < kPhases; ++i)
    for (int j = 0; j < kPhases; ++j) {
      const double p = 2 * std::numbers::pi * i / kPhases, q = 2 * std::numbers::pi * j / kPhases;
      const double u = std::fmax(-1.0, std::fmin(1.0, a * std::cos(p) + b * std::cos(q)));
      sum += std::cos(h * std::acos(u)) * std::cos(m * p) * std::cos(n * q);
    }
  return sum * (m > 0 ? 2 : 1) * (n > 0 ? 2 : 1) / (kPhases * kPhases);
}

double sum_of(const Row& weight, const Row& wave) {
  double sum = 0;
  for (int k = 0; k < kInstants; ++k) sum += weight[k] * wave[k];
  return sum;
}

double pct(double part, double whole) {
  return whole != 0 ? 100 * std::fabs(part / whole) : 0;
}

}  // namespace

TwoToneInstants make_two_tone_instants(double low_share) {
  constexpr int N = kIntervals;
  TwoToneInstants t;
  t.instants = make_instants(N);
  const auto weights = [&](int m, int n) {
    Row row{};
    for (int h = 0; h <= N; ++h) {
      const double by_degree = coefficient(h, low_share, 1 - low_share, m, n);
      for (int k = 0; k <= N; ++k) {
        // Chebyshev coefficient h of the polynomial through the values: first and last count half.
        const double share = (k == 0 || k == N ? 0.5 : 1.0) * (h == 0 || h == N ? 1.0 : 2.0) / N;
        row[k] += by_degree * share * std::cos(std::numbers::pi * h * k / N);
      }
    }
    return row;
  };
  t.instants.mean = t.instants.harmonic[0] = weights(0, 0);
  t.low = weights(1, 0);
  t.high = weights(0, 1);
  t.both = weights(1, 1);
  t.twice_low = weights(2, 1);
  t.twice_high = weights(1, 2);
  for (int k = 0; k <= N; ++k) t.instants.harmonic[1][k] = t.low[k] + t.high[k];
  return t;
}

const TwoToneInstants& low_and_high_instants() {
  static const TwoToneInstants table = make_two_tone_instants(0.8);
  return table;
}

const TwoToneInstants& close_pair_instants() {
  static const TwoToneInstants table = make_two_tone_instants(0.5);
  return table;
}

IntermodulationFigures::Products low_and_high_products(const Row& wave) {
  const TwoToneInstants& t = low_and_high_instants();
  const double high = sum_of(t.high, wave);
  const double second = sum_of(t.both, wave), third = sum_of(t.twice_low, wave);
  return {.second_pct = pct(second, high),
          .third_pct = pct(third, high),
          .total_pct = pct(std::hypot(second, third) / std::numbers::sqrt2, high)};
}

IntermodulationFigures::Products close_pair_products(const Row& wave) {
  const TwoToneInstants& t = close_pair_instants();
  const double tones = std::fabs(sum_of(t.low, wave)) + std::fabs(sum_of(t.high, wave));
  const double difference = 0.5 * sum_of(t.both, wave);
  const double below = 0.5 * std::fabs(sum_of(t.twice_low, wave)),
               above = 0.5 * std::fabs(sum_of(t.twice_high, wave));
  return {.second_pct = pct(difference, tones),
          .third_pct = pct(below + above, tones),
          .total_pct = pct(std::hypot(difference, below, above), tones)};
}

}  // namespace antiphase
