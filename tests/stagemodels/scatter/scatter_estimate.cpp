#include "tests/stagemodels/scatter/scatter_estimate.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace antiphase::testing {
namespace {

constexpr int kRounds = 400;
constexpr double kLeast = 0.005;  // no sheet is printed nearer than half a per cent

/// Statements that share what is left of one of them.
int group(Said what) {
  switch (what) {
    case Said::current:
      return 0;
    case Said::gm:
    case Said::mu:
    case Said::rp:
      return 1;
    case Said::gain:
      return 2;
    case Said::distortion:
      return 3;
    case Said::swing:
      return 4;
    case Said::stage_current:
      return 5;
  }
  return 0;
}
constexpr int kGroups = 6;

Eigen::Vector3d along(const Statement& s) {
  return {s.by_current, s.by_mu, s.what == Said::distortion ? 1.0 : 0.0};
}

struct Variances {
  Eigen::Vector3d common{0.01, 0.001, 0.05};
  std::array<double, kGroups> own{0.002, 0.002, 0.002, 0.01, 0.01, 0.001};
};

/// By how much a standard deviation that few values tell has to be wider to hold nine tenths: Student's
/// distribution over the normal one (M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions
/// (1964), 26.7.5).
double few(int values) {
  const double n = std::max(2, values);
  return 1 + 0.926 / n + 0.863 / (n * n);
}

TypeScatter as_scatter(const Variances& v) {
  const auto sd = [](double variance) { return std::max(kLeast, std::sqrt(variance)); };
  TypeScatter t;
  t.current = sd(v.common[0]), t.mu = sd(v.common[1]), t.bend = sd(v.common[2]);
  t.said_current = sd(v.own[0]), t.said_slope = sd(v.own[1]), t.said_gain = sd(v.own[2]);
  t.said_distortion = sd(v.own[3]), t.said_swing = sd(v.own[4]), t.said_stage_current = sd(v.own[5]);
  return t;
}

/// How many of its own standard deviations each statement is off, in rising order.
std::vector<double> sizes(const TypeScatter& t, std::span<const Source> sources) {
  std::vector<double> all;
  for (const Source& source : sources)
    for (const Statement& s : source.statements) all.push_back(std::abs(s.off) / predicted_sd(t, s));
  std::sort(all.begin(), all.end());
  return all;
}

}  // namespace

TypeScatter estimated(std::span<const Source> sources) {
  Variances v;
  for (int round = 0; round < kRounds; ++round) {
    Eigen::Vector3d common = Eigen::Vector3d::Zero();
    std::array<double, kGroups> own{};
    std::array<int, kGroups> count{};
    int with_distortion = 0;
    for (const Source& source : sources) {
      Eigen::Matrix3d precision = v.common.cwiseInverse().asDiagonal();
      Eigen::Vector3d pull = Eigen::Vector3d::Zero();
      bool distortion = false;
      for (const Statement& s : source.statements) {
        const double by = 1 / v.own[static_cast<std::size_t>(group(s.what))];
        precision += by * along(s) * along(s).transpose();
        pull += by * s.off * along(s);
        distortion = distortion || s.what == Said::distortion;
      }
      const Eigen::Matrix3d spread = precision.inverse();
      const Eigen::Vector3d mean = spread * pull;
      Eigen::Vector3d square = mean.cwiseAbs2() + spread.diagonal();
      if (!distortion) square[2] = 0;
      with_distortion += distortion;
      common += square;
      for (const Statement& s : source.statements) {
        const std::size_t g = static_cast<std::size_t>(group(s.what));
        const double left = s.off - along(s).dot(mean);
        own[g] += left * left + along(s).dot(spread * along(s));
        ++count[g];
      }
    }
    const double n = static_cast<double>(sources.size());
    v.common = {common[0] / n, common[1] / n, with_distortion ? common[2] / with_distortion : v.common[2]};
    v.common = v.common.cwiseMax(kLeast * kLeast);
    for (std::size_t g = 0; g < kGroups; ++g)
      if (count[g] > 0) v.own[g] = std::max(kLeast * kLeast, own[g] / count[g]);
  }
  TypeScatter t = as_scatter(v);
  int with_distortion = 0;
  for (const Source& source : sources)
    with_distortion += std::any_of(source.statements.begin(), source.statements.end(),
                                   [](const Statement& s) { return s.what == Said::distortion; });
  t.bend *= few(with_distortion);
  const int all = static_cast<int>(sources.size());
  t.current *= few(all), t.mu *= few(all);
  const std::vector<double> size = sizes(t, sources);
  if (!size.empty()) t.half = size[size.size() / 2], t.nine_tenths = size[size.size() * 9 / 10];
  return t;
}

double predicted_sd(const TypeScatter& t, const Statement& s) {
  const double own[kGroups]{t.said_current,    t.said_slope, t.said_gain,
                            t.said_distortion, t.said_swing, t.said_stage_current};
  const double e = own[group(s.what)], b = s.what == Said::distortion ? t.bend : 0;
  return std::sqrt(std::pow(s.by_current * t.current, 2) + std::pow(s.by_mu * t.mu, 2) + b * b + e * e);
}

}  // namespace antiphase::testing
