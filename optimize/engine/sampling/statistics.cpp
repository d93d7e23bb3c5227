#include "optimize/engine/sampling/statistics.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>

namespace antiphase::engine {
namespace {

template <std::size_t N>
double polynomial(const std::array<double, N>& c, double x) {
  double sum = 0;
  for (std::size_t k = N; k-- > 0;) sum = sum * x + c[k];
  return sum;
}

// AS 241's coefficients: centre, flanks, tails.
constexpr std::array kA{3.3871328727963666080e0,  1.3314166789178437745e+2, 1.9715909503065514427e+3,
                        1.3731693765509461125e+4, 4.5921953931549871457e+4, 6.7265770927008700853e+4,
                        3.3430575583588128105e+4, 2.5090809287301226727e+3};
constexpr std::array kB{1.0,
                        4.2313330701600911252e+1,
                        6.8718700749205790830e+2,
                        5.3941960214247511077e+3,
                        2.1213794301586595867e+4,
                        3.9307895800092710610e+4,
                        2.8729085735721942674e+4,
                        5.2264952788528545610e+3};
constexpr std::array kC{1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                        3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                        2.27238449892691845833e-2, 7.74545014278341407640e-4};
constexpr std::array kD{1.0,
                        2.05319162663775882187e0,
                        1.67638483018380384940e0,
                        6.89767334985100004550e-1,
                        1.48103976427480074590e-1,
                        1.51986665636164571966e-2,
                        5.47593808499534494600e-4,
                        1.05075007164441684324e-9};
constexpr std::array kE{6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                        2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                        2.71155556874348757815e-5, 2.01033439929228813265e-7};
constexpr std::array kF{1.0,
                        5.99832206555887937690e-1,
                        1.36929880922735805310e-1,
                        1.48753612908506148525e-2,
                        7.86869131145613259100e-4,
                        1.84631831751005468180e-5,
                        1.42151175831644588870e-7,
                        2.04426310338993978564e-15};

}  // namespace

double normal_quantile(double p) {
  assert(p > 0 && p < 1);
  const double q = p - 0.5;
  if (std::abs(q) <= 0.425) {
    const double r = 0.180625 - q * q;
    return q * polynomial(kA, r) / polynomial(kB, r);
  }
  double r = std::sqrt(-std::log(q < 0 ? p : 1 - p));
  const double z = r <= 5 ? polynomial(kC, r - 1.6) / polynomial(kD, r - 1.6)
                          : polynomial(kE, r - 5) / polynomial(kF, r - 5);
  return q < 0 ? -z : z;
}

double normal_share(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

double truncated_normal(double u, double cut, double below) {
  return normal_quantile(below + u * (1 - 2 * below)) / cut;
}

double quantile(std::span<const double> sorted, double q) {
  assert(!sorted.empty());
  const double position = q * static_cast<double>(sorted.size() - 1);
  const auto low = static_cast<std::size_t>(position);
  if (low + 1 >= sorted.size()) return sorted.back();
  return sorted[low] + (position - static_cast<double>(low)) * (sorted[low + 1] - sorted[low]);
}

double quantile_of(std::span<double> numbers, double q) {
  assert(!numbers.empty());
  const double position = q * static_cast<double>(numbers.size() - 1);
  const auto low = numbers.begin() + static_cast<std::ptrdiff_t>(position);
  std::nth_element(numbers.begin(), low, numbers.end());
  if (low + 1 == numbers.end()) return *low;
  const double next = *std::min_element(low + 1, numbers.end());
  return *low + (position - std::floor(position)) * (next - *low);
}

Interval wilson_interval(double hits, double count, double confidence) {
  assert(count > 0);
  const double z = normal_quantile(0.5 + confidence / 2), share = hits / count, zz = z * z / count;
  const double centre = (share + zz / 2) / (1 + zz);
  const double half = z * std::sqrt(share * (1 - share) / count + zz / (4 * count)) / (1 + zz);
  // at none and at all the interval ends there exactly, which rounding would miss
  return {hits <= 0 ? 0.0 : std::max(0.0, centre - half), hits >= count ? 1.0 : std::min(1.0, centre + half)};
}

double first_order_index(std::span<const double> unit, std::span<const double> figure) {
  assert(unit.size() == figure.size());
  constexpr std::size_t kMostBins = 32, kFewest = 64;
  const std::size_t n = figure.size();
  if (n < kFewest) return 0;
  // As many bins as leave some tens of draws in each.
  const std::size_t bins = std::clamp<std::size_t>(n / 32, 2, kMostBins);
  double mean = 0;
  for (double y : figure) mean += y;
  mean /= static_cast<double>(n);
  std::array<double, kMostBins> sum{};
  std::array<double, kMostBins> count{};
  double all = 0;
  for (std::size_t k = 0; k < n; ++k) {
    const double y = figure[k] - mean;
    const auto bin = std::min(bins - 1, static_cast<std::size_t>(unit[k] * static_cast<double>(bins)));
    sum[bin] += y;
    count[bin] += 1;
    all += y * y;
  }
  if (!(all > 0)) return 0;
  double between = 0, used = 0;
  for (std::size_t b = 0; b < bins; ++b)
    if (count[b] > 0) {
      between += sum[b] * sum[b] / count[b];
      used += 1;
    }
  const double left = static_cast<double>(n) - used;
  if (left <= 0) return 0;
  const double noise = (all - between) / left;  // mean square within bins
  return std::clamp((between - (used - 1) * noise) / all, 0.0, 1.0);
}

}  // namespace antiphase::engine
