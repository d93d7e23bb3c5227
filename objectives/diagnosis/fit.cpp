#include "objectives/diagnosis/fit.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <numbers>

#include "optimize/engine/random_numbers.h"
#include "optimize/engine/sampling/statistics.h"
#include "optimize/engine/sampling/tail_shape.h"

namespace antiphase {
namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

/// Half the squares of the meter's errors and of the deviates: minus the logarithm of the posterior.
double misfit(const Taken& t, const Shown& shown, const Deviates& z, int unknowns) {
  double sum = 0;
  for (std::size_t k = 0; k < shown.size(); ++k)
    if (t.has(k)) {
      const double off = (t.volts[k] - shown[k]) / t.deviation_v[k];
      sum += off * off;
    }
  for (int u = 0; u < unknowns; ++u) sum += z[at(u)] * z[at(u)];
  return 0.5 * sum;
}

/// Of a positive definite matrix, in place, lower triangle.
void factorize(Square& m, int size) {
  for (std::size_t c = 0; c < at(size); ++c)
    for (std::size_t r = c; r < at(size); ++r) {
      double sum = m[r][c];
      for (std::size_t k = 0; k < c; ++k) sum -= m[r][k] * m[c][k];
      m[r][c] = r == c ? std::sqrt(sum) : sum / m[c][c];
    }
}

/// x := inverse of L' times x.
void solve_upper(const Square& l, int size, double* x) {
  for (std::size_t r = at(size); r-- > 0;) {
    for (std::size_t k = r + 1; k < at(size); ++k) x[r] -= l[k][r] * x[k];
    x[r] /= l[r][r];
  }
}
void solve_lower(const Square& l, int size, double* x) {
  for (std::size_t r = 0; r < at(size); ++r) {
    for (std::size_t k = 0; k < r; ++k) x[r] -= l[r][k] * x[k];
    x[r] /= l[r][r];
  }
}

double log_determinant(const Square& l, int size) {
  double sum = 0;
  for (std::size_t k = 0; k < at(size); ++k) sum += std::log(l[k][k]);
  return 2 * sum;
}

/// The curvature at the point: the identity of the prior and what the readings add.
void curvature(const Taken& t, Fit& f) {
  for (std::size_t k = 0; k < kMostBenchReadings; ++k)
    if (t.has(k))
      for (std::size_t u = 0; u < at(f.unknowns); ++u) f.moves[k][u] /= t.deviation_v[k];
  for (std::size_t r = 0; r < at(f.unknowns); ++r)
    for (std::size_t c = 0; c <= r; ++c) {
      double sum = r == c ? 1 : 0;
      for (std::size_t k = 0; k < kMostBenchReadings; ++k)
        if (t.has(k)) sum += f.moves[k][r] * f.moves[k][c];
      f.factor[r][c] = sum;
    }
  factorize(f.factor, f.unknowns);
}

double constants(const Taken& t) {
  double sum = 0;
  for (std::size_t k = 0; k < kMostBenchReadings; ++k)
    if (t.has(k)) sum -= std::log(t.deviation_v[k]) + 0.5 * std::log(2 * std::numbers::pi);
  return sum;
}

/// From f.z, whose point is solved.
void gauss_newton(const BenchModel& model, const Fault& fault, const Taken& t, int most_steps, Fit& f) {
  constexpr double kStraight = 1.5;  // deviations over which a distribution's shape is nearly straight
  constexpr double kSettled = 1e-3;  // of the logarithm of the posterior
  double here = misfit(t, f.point.shown, f.z, f.unknowns);
  for (int step = 0; step < most_steps; ++step) {
    if (!model.read_with_moves(fault, f.z, true, t.wanted, f.point, f.moves)) return;
    curvature(t, f);
    f.known = true;
    Deviates by{};
    for (std::size_t u = 0; u < at(f.unknowns); ++u) {
      by[u] = -f.z[u];
      for (std::size_t k = 0; k < kMostBenchReadings; ++k)
        if (t.has(k)) by[u] += f.moves[k][u] * (t.volts[k] - f.point.shown[k]) / t.deviation_v[k];
    }
    const Deviates downhill = by;
    precision_solve(f, {by.data(), at(f.unknowns)});
    double largest = 0, promised = 0;
    for (std::size_t u = 0; u < at(f.unknowns); ++u) {
      largest = std::max(largest, std::abs(by[u]));
      promised += 0.5 * downhill[u] * by[u];
    }
    if (promised < kSettled) return;
    double share = std::min(1.0, kStraight / largest);
    bool better = false;
    for (int halved = 0; halved < 5 && !better; ++halved, share /= 2) {
      Deviates z = f.z;
      for (std::size_t u = 0; u < at(f.unknowns); ++u) z[u] += share * by[u];
      BenchPoint point = f.point;
      if (!model.read(fault, z, true, t.wanted, point)) continue;
      const double there = misfit(t, point.shown, z, f.unknowns);
      if (there >= here) continue;
      better = true;
      f.z = z;
      f.point = point;
      here = there;
    }
    if (!better) return;
  }
  // The last step's curvature is that of the point before; it was to settle.
  if (model.read_with_moves(fault, f.z, true, t.wanted, f.point, f.moves)) curvature(t, f);
}

void finish(const Taken& t, Fit& f) {
  if (!f.known) return;
  f.log_evidence =
      constants(t) - misfit(t, f.point.shown, f.z, f.unknowns) - 0.5 * log_determinant(f.factor, f.unknowns);
}

}  // namespace

int Taken::count() const {
  return std::popcount(wanted);
}

void precision_solve(const Fit& f, std::span<double> x) {
  solve_lower(f.factor, f.unknowns, x.data());
  solve_upper(f.factor, f.unknowns, x.data());
}

void fit_from(const BenchModel& model, const Fault& fault, const Taken& t, const Deviates& start, Fit& f) {
  f.known = false;
  f.z = start;
  f.unknowns = model.unknowns(fault);
  if (!model.read(fault, f.z, false, t.wanted, f.point)) return;
  gauss_newton(model, fault, t, 20, f);
  finish(t, f);
}

namespace {

/// From one state: a meter that sees little first, since a sharp one can drive an unknown to an end of its
/// range that it does not come back from.
void fit_bluntly_from(const BenchModel& model, const Fault& fault, const Taken& t, double hopeless,
                      const Deviates& start, Fit& f) {
  constexpr double kBlunt = 6;
  constexpr int kBluntSteps = 3;
  Taken blunt = t;
  for (double& deviation_v : blunt.deviation_v) deviation_v *= kBlunt;
  f.known = false;
  f.z = start;
  f.unknowns = model.unknowns(fault);
  if (!model.read(fault, f.z, false, t.wanted, f.point)) return;
  gauss_newton(model, fault, blunt, kBluntSteps, f);
  // Nothing fits a sharp meter better than a blunt one.
  if (misfit(blunt, f.point.shown, f.z, f.unknowns) > hopeless) {
    f.known = false;
    return;
  }
  fit_from(model, fault, t, f.z, f);
}

}  // namespace

void fit(const BenchModel& model, const Fault& fault, const Taken& t, double hopeless, Fit& f) {
  // Where a size hardly shows at one end, nothing leads away from there: begin where it fits best.
  constexpr std::array kBegin{0.0, -1.2, 1.2};
  struct Begun {
    Deviates z{};
    double misfit = kFar;
  };
  std::array<Begun, kBegin.size() * kBegin.size()> begun;
  std::size_t begins = 0;
  const std::size_t first = fault.magnitudes > 0 ? kBegin.size() : 1;
  const std::size_t second = fault.magnitudes > 1 ? kBegin.size() : 1;
  bool near = false;
  for (std::size_t i = 0; i < first; ++i)
    for (std::size_t k = 0; k < second; ++k) {
      Begun b;
      if (fault.magnitudes > 0) b.z[at(model.scattered())] = kBegin[i];
      if (fault.magnitudes > 1) b.z[at(model.scattered() + 1)] = kBegin[k];
      if (!model.read(fault, b.z, near, t.wanted, f.point)) continue;
      near = true;
      b.misfit = misfit(t, f.point.shown, b.z, model.unknowns(fault));
      if (begins > 0 && b.misfit < begun[0].misfit) std::swap(b, begun[0]);  // the best stands first
      begun[begins++] = b;
    }
  f.known = false;
  if (begins == 0) return;
  fit_bluntly_from(model, fault, t, hopeless, begun[0].z, f);
  // Few readings leave several states that explain them, and the first one begun from may lead to a poor one.
  constexpr int kFewReadings = 4;
  if (t.count() > kFewReadings || fault.magnitudes != 1) return;
  for (std::size_t n = 1; n < begins; ++n) {
    Fit other;
    fit_bluntly_from(model, fault, t, hopeless, begun[n].z, other);
    if (other.known && (!f.known || other.log_evidence > f.log_evidence)) f = other;
  }
}

namespace {

/// Where draws are proposed. A part within its tolerance lies evenly between two ends, and readings are
/// nearly straight in it, but not in its normal deviate: so for parts the coordinate is the place between the
/// ends, -1 … 1, and beyond them the posterior is nothing.
class Proposal {
 public:
  static constexpr int kDegrees = 12;  ///< of Student's t: tails above all that the posterior can have

  Proposal(const BenchModel& model, const Taken& t, const Fit& f, std::uint64_t seed)
      : n_(f.unknowns), points_(f.unknowns, seed), random_(seed) {
    for (int u = 0; u < model.scattered(); ++u) even_[at(u)] = model.even(at(u));
    constexpr double kLeastSlope = 1e-3;
    Moves moves = f.moves;
    Deviates here{}, down{};
    for (std::size_t u = 0; u < at(n_); ++u) {
      here[u] = even_[u] ? 2 * engine::normal_share(f.z[u]) - 1 : f.z[u];
      const double slope =
          even_[u]
              ? std::max(kLeastSlope, 2 * std::exp(-0.5 * f.z[u] * f.z[u]) / std::sqrt(2 * std::numbers::pi))
              : 1;
      down[u] = -precision(u) * here[u];
      for (std::size_t k = 0; k < kMostBenchReadings; ++k)
        if (t.has(k)) {
          moves[k][u] /= slope;
          down[u] += moves[k][u] * (t.volts[k] - f.point.shown[k]) / t.deviation_v[k];
        }
    }
    for (std::size_t r = 0; r < at(n_); ++r)
      for (std::size_t c = 0; c <= r; ++c) {
        double sum = r == c ? precision(r) : 0;
        for (std::size_t k = 0; k < kMostBenchReadings; ++k)
          if (t.has(k)) sum += moves[k][r] * moves[k][c];
        factor_[r][c] = sum;
      }
    factorize(factor_, n_);
    solve_lower(factor_, n_, down.data());
    solve_upper(factor_, n_, down.data());
    for (std::size_t u = 0; u < at(n_); ++u) middle_[u] = here[u] + down[u];
    constant_ = std::lgamma(0.5 * (kDegrees + n_)) - std::lgamma(0.5 * kDegrees) -
                0.5 * n_ * std::log(kDegrees * std::numbers::pi) + 0.5 * log_determinant(factor_, n_);
  }

  /// The next draw as normal deviates, and the logarithm of prior over proposal. False: beyond an end.
  bool next(Deviates& z, double& log_ratio) {
    double squares = 0;
    for (int u = 0; u < n_; ++u) z[at(u)] = engine::normal_quantile(points_.coordinate(number_, u));
    ++number_;
    double chi_squared = 0;
    for (int i = 0; i < kDegrees / 2; ++i) chi_squared -= 2 * std::log(1 - random_.unit());
    const double wide = std::sqrt(kDegrees / chi_squared);
    for (int u = 0; u < n_; ++u) {
      z[at(u)] *= wide;
      squares += z[at(u)] * z[at(u)];
    }
    solve_upper(factor_, n_, z.data());
    log_ratio = -constant_ + 0.5 * (kDegrees + n_) * std::log1p(squares / kDegrees);
    for (std::size_t u = 0; u < at(n_); ++u) {
      z[u] += middle_[u];
      if (!even_[u]) {
        log_ratio -= 0.5 * z[u] * z[u] + 0.5 * std::log(2 * std::numbers::pi);
        continue;
      }
      if (!(std::abs(z[u]) < 1)) return false;
      log_ratio -= std::log(2);
      z[u] = engine::normal_quantile(0.5 + 0.5 * z[u]);
    }
    return true;
  }

 private:
  double precision(std::size_t u) const { return even_[u] ? 3 : 1; }  // even between -1 and 1: variance 1/3

  int n_;
  engine::SobolPoints points_;
  engine::RandomNumbers random_;
  std::uint32_t number_ = 0;
  std::array<bool, kMostUnknowns> even_{};
  Deviates middle_{};
  Square factor_;
  double constant_ = 0;
};

/// Half the squares of the meter's errors.
double error_squares(const Taken& t, const Shown& shown) {
  return misfit(t, shown, {}, 0);
}

}  // namespace

Draws draw_posterior(const BenchModel& model, const Fault& fault, const Taken& t, const Fit& f, int draws,
                     std::uint64_t seed) {
  constexpr int kMostProposed = 40;  // to one that is solved
  Proposal proposal(model, t, f, seed);
  const unsigned everything = model.everything();
  Draws out;
  std::vector<double> log_weight;
  int proposed = 0;
  for (; static_cast<int>(out.z.size()) < draws && proposed < kMostProposed * draws; ++proposed) {
    Deviates z{};
    double log_ratio = 0;
    if (!proposal.next(z, log_ratio)) continue;
    BenchPoint point = f.point;
    const bool solved = model.read(fault, z, true, everything, point);
    log_weight.push_back(solved ? log_ratio - error_squares(t, point.shown) : -kFar);
    out.z.push_back(z);
    out.shown.push_back(point.shown);
    out.volts.push_back(point.volts);
  }
  out.log_evidence = -kFar;
  out.weight.assign(log_weight.size(), 0);
  const double most = log_weight.empty() ? -kFar : *std::max_element(log_weight.begin(), log_weight.end());
  if (!(most > -kFar)) return out;
  for (std::size_t k = 0; k < log_weight.size(); ++k) out.weight[k] = std::exp(log_weight[k] - most);
  std::vector<double> scratch(log_weight.size());
  std::vector<int> order(log_weight.size());
  out.tail = engine::smooth_weights(out.weight, scratch, order);
  double sum = 0;
  for (const double w : out.weight) sum += w;
  for (double& w : out.weight) w *= static_cast<double>(out.weight.size()) / sum;
  out.effective = engine::effective_size(out.weight);
  out.log_evidence = constants(t) + most + std::log(sum / proposed);
  return out;
}

}  // namespace antiphase
