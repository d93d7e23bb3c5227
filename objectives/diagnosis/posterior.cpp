#include "objectives/diagnosis/posterior.h"

#include <algorithm>
#include <cmath>

#include "optimize/engine/random_numbers.h"
#include "optimize/engine/sampling/statistics.h"
#include "optimize/engine/sampling/weighted.h"

namespace antiphase {
namespace {

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

double normal_density(double off, double deviation) {
  constexpr double kFar = 10;
  const double x = off / deviation;
  return std::abs(x) > kFar ? 0 : std::exp(-0.5 * x * x) / deviation;
}

/// Of sound boxes before any reading, in rising order: [quantity][box].
std::vector<std::vector<double>> before_reading(const Quantities& quantities,
                                                const std::vector<BenchModel>& models, std::uint64_t seed) {
  constexpr int kBoxes = 200;
  const Fault none{};
  std::vector<std::vector<double>> value(quantities.list().size());
  const engine::SobolPoints points(engine::SobolPoints::kMostDimensions, seed);
  for (int i = 0; i < kBoxes; ++i) {
    const BenchModel& model = models[at(i) % models.size()];
    Deviates z{};
    for (int u = 0; u < model.scattered(); ++u)
      z[at(u)] = engine::normal_quantile(points.coordinate(static_cast<std::uint32_t>(i), u));
    BenchPoint point;
    if (!model.read(none, z, false, 0, point)) continue;
    const Design build = model.build(none, z);
    for (std::size_t q = 0; q < value.size(); ++q)
      value[q].push_back(quantities.value(q, model, none, z, build, point.volts));
  }
  for (auto& v : value) std::sort(v.begin(), v.end());
  return value;
}

QuantityTold bands(std::vector<engine::Weighted>& now, const std::vector<double>& before) {
  QuantityTold t;
  if (now.empty() || before.empty()) return t;
  engine::sort_by_value(now);
  t.low = engine::weighted_quantile(now, 0.05);
  t.quarter = engine::weighted_quantile(now, 0.25);
  t.middle = engine::weighted_quantile(now, 0.5);
  t.three_quarters = engine::weighted_quantile(now, 0.75);
  t.high = engine::weighted_quantile(now, 0.95);
  t.before_low = engine::quantile(before, 0.05);
  t.before_high = engine::quantile(before, 0.95);
  const double wide = t.before_high - t.before_low;
  t.narrowed = wide > 0 ? std::clamp(1 - (t.high - t.low) / wide, 0.0, 1.0) : 0;
  return t;
}

/// How a quantity goes with each unknown around the fit, with the voltages as they are there.
Deviates slope_of(const Quantities& quantities, std::size_t q, const BenchModel& model, const Fault& fault,
                  const Fit& f) {
  constexpr double kStep = 0.05;  // deviations
  Deviates slope{};
  for (std::size_t u = 0; u < at(f.unknowns); ++u) {
    const auto with = [&](double step) {
      Deviates z = f.z;
      z[u] += step;
      return quantities.value(q, model, fault, z, model.build(fault, z), f.point.volts);
    };
    slope[u] = (with(kStep) - with(-kStep)) / (2 * kStep);
  }
  return slope;
}

/// By how much the variance along `slope` would be larger without reading k (Sherman and Morrison's formula).
double wider_without(const Fit& f, std::size_t k, const Deviates& through) {
  Deviates moved = f.moves[k];
  precision_solve(f, {moved.data(), at(f.unknowns)});
  double own = 0, shared = 0;
  for (std::size_t u = 0; u < at(f.unknowns); ++u) {
    own += f.moves[k][u] * moved[u];
    shared += f.moves[k][u] * through[u];
  }
  constexpr double kLeast = 1e-12;
  return shared * shared / std::max(kLeast, 1 - own);
}

double information_bits(const std::vector<PosteriorDraw>& draws, std::size_t k, double deviation_v,
                        std::uint64_t seed) {
  engine::RandomNumbers random(seed);
  double bits = 0;
  for (const PosteriorDraw& own : draws) {
    const double read = own.shown[k] + deviation_v * engine::normal_quantile(1 - random.unit());
    double same = 0, same_weight = 0, all = 0;
    for (const PosteriorDraw& other : draws) {
      const double density = other.weight * normal_density(read - other.shown[k], deviation_v);
      all += density;
      if (other.fault != own.fault) continue;
      same += density;
      same_weight += other.weight;
    }
    if (all > 0 && same > 0) bits += own.weight * std::log2(same / same_weight / all);
  }
  return std::max(0.0, bits);
}

}  // namespace

std::vector<QuantityTold> told_of(const Quantities& quantities, const std::vector<BenchModel>& models,
                                  const std::vector<Fault>& faults, const std::vector<PosteriorDraw>& draws,
                                  std::uint64_t seed) {
  std::vector<std::vector<engine::Weighted>> value(quantities.list().size());
  for (const PosteriorDraw& d : draws) {
    const BenchModel& model = models[at(d.law)];
    const Design build = model.build(faults[d.fault], d.z);
    for (std::size_t q = 0; q < value.size(); ++q)
      value[q].push_back({quantities.value(q, model, faults[d.fault], d.z, build, d.volts), d.weight});
  }
  const auto before = before_reading(quantities, models, seed);
  std::vector<QuantityTold> told;
  for (std::size_t q = 0; q < value.size(); ++q) told.push_back(bands(value[q], before[q]));
  return told;
}

void tell_what_decided(const Quantities& quantities, const BenchModel& model, const Fault& fault,
                       const Taken& taken, const Fit& f, std::vector<QuantityTold>& told) {
  constexpr double kWorthTelling = 0.1;  // of the variance
  for (std::size_t q = 0; q < told.size(); ++q) {
    if (quantities.list()[q].kind == Quantity::Kind::plate_current) continue;  // hangs on all voltages
    const Deviates slope = slope_of(quantities, q, model, fault, f);
    Deviates through = slope;
    precision_solve(f, {through.data(), at(f.unknowns)});
    double variance = 0;
    for (std::size_t u = 0; u < at(f.unknowns); ++u) variance += slope[u] * through[u];
    double widest = kWorthTelling * variance;
    for (std::size_t k = 0; k < kMostBenchReadings; ++k) {
      if (!taken.has(k)) continue;
      const double wider = wider_without(f, k, through);
      if (wider <= widest) continue;
      widest = wider;
      told[q].decided_by = static_cast<int>(k);
    }
  }
}

std::vector<PosteriorDraw> thinned(const std::vector<PosteriorDraw>& draws, int count, int only) {
  const auto counts = [&](const PosteriorDraw& d) { return only < 0 || d.fault == at(only); };
  double all = 0, sum = 0;
  for (const PosteriorDraw& d : draws) all += counts(d) ? d.weight : 0;
  std::vector<PosteriorDraw> out;
  int next = 0;
  for (const PosteriorDraw& d : draws) {
    if (!counts(d)) continue;
    sum += d.weight / all;
    for (; next < count && sum > (next + 0.5) / count; ++next) {
      out.push_back(d);
      out.back().weight = 1.0 / count;
    }
  }
  return out;
}

std::vector<NextTold> next_readings(const std::vector<BenchReading>& readings, const Taken& taken,
                                    const std::vector<PosteriorDraw>& draws, std::uint64_t seed) {
  constexpr int kThinned = 300;
  const std::vector<PosteriorDraw> even = thinned(draws, kThinned);
  std::vector<NextTold> out;
  if (even.empty()) return out;
  for (std::size_t k = 0; k < readings.size(); ++k) {
    if (taken.has(k)) continue;
    std::vector<engine::Weighted> expected;
    for (const PosteriorDraw& d : even) expected.push_back({d.shown[k], d.weight});
    engine::sort_by_value(expected);
    const double middle = engine::weighted_quantile(expected, 0.5);
    NextTold n;
    n.reading = static_cast<int>(k);
    n.low_v = engine::weighted_quantile(expected, 0.05);
    n.high_v = engine::weighted_quantile(expected, 0.95);
    n.bits =
        information_bits(even, k, reading_deviation_v(readings[k], middle, kMeterAccuracy_pct, 0), seed + k);
    out.push_back(n);
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const NextTold& a, const NextTold& b) { return a.bits > b.bits; });
  return out;
}

double meter_deviation_v(double volts, double accuracy_pct, double step_v) {
  constexpr double kLeast_v = 0.01;
  const double accuracy = 0.5 * accuracy_pct / 100 * volts, rounding = step_v / std::sqrt(12.0);
  return std::sqrt(accuracy * accuracy + rounding * rounding + kLeast_v * kLeast_v);
}

double reading_deviation_v(const BenchReading& r, double volts, double accuracy_pct, double step_v) {
  // Of a signal both ends are read, and the input's error counts as the output's does.
  const double meters = r.kind == BenchReading::Kind::signal ? std::sqrt(2.0) : 1;
  return std::hypot(meter_deviation_v(volts, meters * accuracy_pct, step_v), off_beside_meter(r) * volts);
}

}  // namespace antiphase
