#include "objectives/diagnosis/expectation.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "optimize/engine/sampling/statistics.h"

namespace antiphase {
namespace {

struct Normal {
  double mean, deviation, weight;  ///< the weight first as a logarithm
};
using Mixture = std::vector<Normal>;

double share_below(const Mixture& mixture, double x) {
  double sum = 0;
  for (const Normal& n : mixture) sum += n.weight * engine::normal_share((x - n.mean) / n.deviation);
  return sum;
}

double quantile_of(const Mixture& mixture, double q) {
  constexpr double kAll = 8;  // deviations
  constexpr int kHalvings = 50;
  double low = mixture.front().mean, high = low;
  for (const Normal& n : mixture) {
    low = std::min(low, n.mean - kAll * n.deviation);
    high = std::max(high, n.mean + kAll * n.deviation);
  }
  for (int k = 0; k < kHalvings; ++k) {
    const double middle = 0.5 * (low + high);
    (share_below(mixture, middle) < q ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Under one law, weighted by how well it explains the others.
std::optional<Normal> under(const BenchModel& model, const Taken& others, std::size_t k, double meter_v,
                            const Deviates& start) {
  const Fault none{};
  Fit f;
  fit_from(model, none, others, start, f);
  if (!f.known) return std::nullopt;
  BenchPoint point = f.point;
  Moves moves;
  if (!model.read_with_moves(none, f.z, true, 1u << k, point, moves)) return std::nullopt;
  const auto n = static_cast<std::size_t>(f.unknowns);
  Deviates by = moves[k];
  precision_solve(f, {by.data(), n});
  double variance = meter_v * meter_v;
  for (std::size_t u = 0; u < n; ++u) variance += by[u] * moves[k][u];
  return Normal{point.shown[k], std::sqrt(variance), f.log_evidence};
}

void weigh(Mixture& mixture) {
  double most = mixture.front().weight, all = 0;
  for (const Normal& n : mixture) most = std::max(most, n.weight);
  for (Normal& n : mixture) all += n.weight = std::exp(n.weight - most);
  for (Normal& n : mixture) n.weight /= all;
}

}  // namespace

ReadingTold expectation(std::span<const BenchModel> models, const Taken& taken, std::size_t k,
                        const Deviates& start) {
  ReadingTold r;
  r.reading = static_cast<int>(k);
  r.shown_v = taken.volts[k];
  r.deviation_v = taken.deviation_v[k];
  Taken others = taken;
  others.wanted &= ~(1u << k);
  Mixture mixture;
  for (const BenchModel& model : models)
    if (const auto n = under(model, others, k, r.deviation_v, start)) mixture.push_back(*n);
  if (mixture.empty()) return r;
  weigh(mixture);
  r.known = true;
  r.low_v = quantile_of(mixture, 0.05);
  r.quarter_v = quantile_of(mixture, 0.25);
  r.middle_v = quantile_of(mixture, 0.5);
  r.three_quarters_v = quantile_of(mixture, 0.75);
  r.high_v = quantile_of(mixture, 0.95);
  r.below = share_below(mixture, r.shown_v);
  return r;
}

}  // namespace antiphase
