#include "stagemodels/tubes/type_scatter.h"

#include <cmath>

namespace antiphase {
namespace {

/// The number below which a normal variable stays with this probability, by bisection.
double normal_quantile(double probability) {
  double low = -9, high = 9;
  for (int step = 0; step < 60; ++step) {
    const double middle = 0.5 * (low + high);
    (0.5 * std::erfc(-middle / std::sqrt(2.0)) < probability ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double van_der_corput(int n, int base) {
  double t = 0, digit = 1;
  for (; n > 0; n /= base) t += (digit /= base) * (n % base);
  return t;
}

}  // namespace

const PublishedPoint* typical_point(std::span<const PublishedPoint> points) {
  const PublishedPoint* best = nullptr;
  for (const PublishedPoint& p : points)
    if (p.plate_current_a && grid_voltage_of(p) &&
        (!best || p.plate_v > best->plate_v ||
         (p.plate_v == best->plate_v && *p.plate_current_a > *best->plate_current_a)))
      best = &p;
  return best;
}

SectionSpread specimen_of(const TriodeLaw& law, const PublishedPoint& typical, double current, double mu) {
  const double grid_v = grid_voltage_of(typical).value_or(0);
  const double as_is = currents_at(law, grid_v, typical.plate_v).plate_a;
  const double with_mu = currents_at(law, grid_v, typical.plate_v / mu).plate_a;
  if (!(as_is > 0) || !(with_mu > 0)) return {};
  return {current * as_is / with_mu, mu};
}

std::array<TypeDraw, kTypeDraws> type_draws(int which_type) {
  constexpr std::array kPrimes{2, 3, 5, 7, 11, 13, 17, 19, 23};
  std::array<TypeDraw, kTypeDraws> draws;
  for (int k = 0; k < kTypeDraws; ++k) {
    const auto at = [&](int place) {
      const int base = kPrimes[static_cast<std::size_t>(3 * which_type + place) % kPrimes.size()];
      return normal_quantile(van_der_corput(k + 1, base));
    };
    draws[static_cast<std::size_t>(k)] = {at(0), at(1), at(2)};
  }
  return draws;
}

}  // namespace antiphase
