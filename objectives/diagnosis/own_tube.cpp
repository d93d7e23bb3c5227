#include "objectives/diagnosis/own_tube.h"

#include <algorithm>
#include <cmath>

#include "objectives/diagnosis/bench_model.h"

namespace antiphase {
namespace {

// Logarithms of the factors of section 1 and 2: currents, then mu.
constexpr std::size_t kUnknowns = 4;
using Numbers = std::array<double, kUnknowns>;
using Matrix = std::array<Numbers, kUnknowns>;

/// Lower triangular factor of a positive definite matrix.
Matrix factor_of(const Matrix& m) {
  Matrix l{};
  for (std::size_t c = 0; c < kUnknowns; ++c)
    for (std::size_t r = c; r < kUnknowns; ++r) {
      double sum = m[r][c];
      for (std::size_t k = 0; k < c; ++k) sum -= l[r][k] * l[c][k];
      l[r][c] = r == c ? std::sqrt(sum) : sum / l[c][c];
    }
  return l;
}

/// x := inverse of L' times x.
void solve_upper(const Matrix& l, Numbers& x) {
  for (std::size_t r = kUnknowns; r-- > 0;) {
    for (std::size_t k = r + 1; k < kUnknowns; ++k) x[r] -= l[k][r] * x[k];
    x[r] /= l[r][r];
  }
}
void solve_lower(const Matrix& l, Numbers& x) {
  for (std::size_t r = 0; r < kUnknowns; ++r) {
    for (std::size_t k = 0; k < r; ++k) x[r] -= l[r][k] * x[k];
    x[r] /= l[r][r];
  }
}

/// Of the logarithms, by the scatter of the type.
Matrix covariance_before(const Tube& tube, bool one_bottle, const Tolerances& t) {
  constexpr double kLeast = 1e-6;  // a tolerance of 0: known as well as exactly
  const auto square = [](double x) { return x * x; };
  const double current = std::max(
                   kLeast, t.plate_current_pct.value_or(tube.plate_current_spread_pct) / 100 / kNormalCut),
               mu = std::max(kLeast, t.mu_pct / 100 / kNormalCut);
  Matrix m{};
  m[0][0] = m[1][1] = square(current) + square(kLawOff);
  m[2][2] = m[3][3] = square(mu);
  m[0][1] = m[1][0] =
      square(kLawOff) + (one_bottle ? square(current) * (1 - square(kSectionShareOfCurrent)) : 0);
  m[2][3] = m[3][2] = one_bottle ? square(mu) * (1 - square(kSectionShareOfMu)) : 0;
  return m;
}

class Posterior {
 public:
  Posterior(const Tube& tube, const TriodeLaw& law, bool one_bottle, const Tolerances& tolerances,
            const std::vector<TubeReading>& readings)
      : tube_(tube),
        law_(law),
        readings_(readings),
        middle_(middle_of(readings)),
        before_(covariance_before(tube, one_bottle, tolerances)),
        wide_(factor_of(before_)) {
    for (const TubeReading& r : readings) largest_a_ = std::max(largest_a_, r.plate_a);
    gather_points();
    find_mode();
    take_moments();
  }

  OwnTube told() const {
    OwnTube out;
    out.middle = middle_;
    for (std::size_t s = 0; s < 2; ++s) {
      OwnSection& o = out.section[s];
      o.current = factor(s);
      o.mu = factor(2 + s);
      o.spread = spread_at(mean_, s);
      double squares = 0;
      for (const TubeReading& r : readings_) {
        if (static_cast<std::size_t>(r.section) != s) continue;
        const double missed = current_a(o.spread, r) / r.plate_a - 1;
        squares += missed * missed;
        ++o.readings;
      }
      if (o.readings > 0) o.left_pct = 100 * std::sqrt(squares / o.readings);
    }
    return out;
  }

 private:
  static TubeReading middle_of(std::vector<TubeReading> readings) {
    const auto half = readings.begin() + static_cast<std::ptrdiff_t>(readings.size() / 2);
    std::nth_element(readings.begin(), half, readings.end(),
                     [](const TubeReading& a, const TubeReading& b) { return a.plate_a < b.plate_a; });
    return *half;
  }

  double current_a(const SectionSpread& spread, const TubeReading& at) const {
    return TriodeSection{&tube_, &law_, spread}.currents_at(at.grid_v, at.plate_v).plate_a;
  }

  /// The factors that a design takes: of the current at equal drive, so that with mu as it is the current at
  /// the middle reading's voltages is what `logs` say.
  SectionSpread spread_at(const Numbers& logs, std::size_t s) const {
    const double mu = std::exp(logs[2 + s]);
    const double type_a = current_a({}, middle_), with_mu_a = current_a({1, mu}, middle_);
    return {std::exp(logs[s]) * (with_mu_a > 0 ? type_a / with_mu_a : 1), mu};
  }

  /// By how much each reading is missed, in numbers that are independent and of deviation 1 where the state
  /// is the right one.
  void misses(const Numbers& z, std::vector<double>& out) const {
    const Numbers logs = logs_of(z);
    const std::array<SectionSpread, 2> spread{spread_at(logs, 0), spread_at(logs, 1)};
    out.clear();
    std::vector<double> missed;
    for (const Point& point : points_) {
      missed.clear();
      for (const std::size_t k : point.reading) {
        const TubeReading& r = readings_[k];
        missed.push_back(r.plate_a - current_a(spread[static_cast<std::size_t>(r.section)], r));
      }
      // Forward substitution with the factor of their covariance.
      const std::size_t n = missed.size();
      for (std::size_t i = 0; i < n; ++i) {
        for (std::size_t k = 0; k < i; ++k) missed[i] -= point.factor[i * n + k] * missed[k];
        missed[i] /= point.factor[i * n + i];
      }
      out.insert(out.end(), missed.begin(), missed.end());
    }
  }

  /// Readings at the same voltages, of either section: what the law is off there is one and the same for all.
  struct Point {
    std::vector<std::size_t> reading;
    std::vector<double> factor;  ///< lower triangular, of the covariance of their errors, row by row
  };

  void gather_points() {
    constexpr double kSame = 0.02;  // of either voltage
    const auto same = [&](double a, double b) { return std::abs(a - b) <= kSame * std::abs(b); };
    for (std::size_t k = 0; k < readings_.size(); ++k) {
      const auto known = std::find_if(points_.begin(), points_.end(), [&](const Point& p) {
        const TubeReading& first = readings_[p.reading.front()];
        return same(readings_[k].plate_v, first.plate_v) && same(readings_[k].grid_v, first.grid_v);
      });
      Point& point = known == points_.end() ? points_.emplace_back() : *known;
      point.reading.push_back(k);
    }
    for (Point& p : points_) factorize(p);
  }

  void factorize(Point& p) const {
    constexpr double kSmall = 0.1;
    const std::size_t n = p.reading.size();
    p.factor.assign(n * n, 0);
    const auto shape_a = [&](std::size_t i) {
      return kLawShapeOff * std::max(readings_[p.reading[i]].plate_a, kSmall * largest_a_);
    };
    for (std::size_t c = 0; c < n; ++c)
      for (std::size_t r = c; r < n; ++r) {
        const TubeReading& reading = readings_[p.reading[r]];
        const double meter_a = 0.5 * reading.accuracy_pct / 100 * reading.plate_a;
        double sum = shape_a(r) * shape_a(c) + (r == c ? meter_a * meter_a : 0);
        for (std::size_t k = 0; k < c; ++k) sum -= p.factor[r * n + k] * p.factor[c * n + k];
        p.factor[r * n + c] = r == c ? std::sqrt(sum) : sum / p.factor[c * n + c];
      }
  }

  /// From independent standard normal numbers.
  Numbers logs_of(const Numbers& z) const {
    Numbers x{};
    for (std::size_t r = 0; r < kUnknowns; ++r)
      for (std::size_t c = 0; c <= r; ++c) x[r] += wide_[r][c] * z[c];
    return x;
  }

  double misfit(const Numbers& z) const {
    std::vector<double> missed;
    misses(z, missed);
    double sum = 0;
    for (const double m : missed) sum += m * m;
    for (const double u : z) sum += u * u;
    return 0.5 * sum;
  }

  void find_mode() {
    constexpr double kStep = 1e-5, kSettled = 1e-9;
    constexpr int kMostSteps = 40;
    std::vector<double> here, there;
    double now = misfit(mode_);
    for (int step = 0; step < kMostSteps; ++step) {
      misses(mode_, here);
      Matrix precision{};
      Numbers down{};
      std::array<std::vector<double>, kUnknowns> slope;
      for (std::size_t u = 0; u < kUnknowns; ++u) {
        Numbers next = mode_;
        next[u] += kStep;
        misses(next, there);
        for (std::size_t k = 0; k < here.size(); ++k) slope[u].push_back((here[k] - there[k]) / kStep);
      }
      for (std::size_t r = 0; r < kUnknowns; ++r) {
        down[r] = -mode_[r];
        for (std::size_t k = 0; k < here.size(); ++k) down[r] += slope[r][k] * here[k];
        for (std::size_t c = 0; c < kUnknowns; ++c) {
          precision[r][c] = r == c ? 1 : 0;
          for (std::size_t k = 0; k < here.size(); ++k) precision[r][c] += slope[r][k] * slope[c][k];
        }
      }
      narrow_ = factor_of(precision);
      solve_lower(narrow_, down);
      solve_upper(narrow_, down);
      double share = 1;
      Numbers next{};
      double then = now;
      for (int halved = 0; halved < 20; ++halved, share /= 2) {
        for (std::size_t u = 0; u < kUnknowns; ++u) next[u] = mode_[u] + share * down[u];
        then = misfit(next);
        if (then < now) break;
      }
      if (!(then < now)) return;
      mode_ = next;
      const bool settled = now - then < kSettled;
      now = then;
      if (settled) return;
    }
  }

  void take_moments() {
    // Abscissas and weights for exp(-x^2 / 2), five points: NIST Handbook of Mathematical Functions, 3.5(v).
    const double inner = std::sqrt(5 - std::sqrt(10.0)), outer = std::sqrt(5 + std::sqrt(10.0));
    const double by_inner = (7 + 2 * std::sqrt(10.0)) / 60, by_outer = (7 - 2 * std::sqrt(10.0)) / 60;
    const std::array<double, 5> x{-outer, -inner, 0, inner, outer},
        weight{by_outer, by_inner, 8.0 / 15, by_inner, by_outer};
    const double at_mode = misfit(mode_);
    double all = 0;
    Numbers sum{}, squares{};
    for (int n = 0; n < 625; ++n) {
      Numbers t{};
      double w = 1, half_square = 0;
      for (std::size_t u = 0; u < kUnknowns; ++u) {
        constexpr std::array kPlace{1, 5, 25, 125};
        const auto i = static_cast<std::size_t>(n / kPlace[u] % 5);
        t[u] = x[i];
        w *= weight[i];
        half_square += 0.5 * x[i] * x[i];
      }
      solve_upper(narrow_, t);
      for (std::size_t u = 0; u < kUnknowns; ++u) t[u] += mode_[u];
      w *= std::exp(half_square + at_mode - misfit(t));
      const Numbers logs = logs_of(t);
      all += w;
      for (std::size_t u = 0; u < kUnknowns; ++u) sum[u] += w * logs[u];
      for (std::size_t u = 0; u < kUnknowns; ++u) squares[u] += w * logs[u] * logs[u];
    }
    for (std::size_t u = 0; u < kUnknowns; ++u) {
      mean_[u] = sum[u] / all;
      variance_[u] = std::max(0.0, squares[u] / all - mean_[u] * mean_[u]);
    }
  }

  FactorTold factor(std::size_t u) const {
    constexpr double kNineOfTen = 1.6448536;  // standard deviations to either side
    FactorTold f;
    f.deviation = std::sqrt(variance_[u]);
    f.before_deviation = std::sqrt(before_[u][u]);
    f.middle = std::exp(mean_[u]);
    f.low = std::exp(mean_[u] - kNineOfTen * f.deviation);
    f.high = std::exp(mean_[u] + kNineOfTen * f.deviation);
    f.before_low = std::exp(-kNineOfTen * f.before_deviation);
    f.before_high = std::exp(kNineOfTen * f.before_deviation);
    f.decided = std::clamp(1 - variance_[u] / before_[u][u], 0.0, 1.0);
    return f;
  }

  const Tube& tube_;
  const TriodeLaw& law_;
  const std::vector<TubeReading>& readings_;
  TubeReading middle_;
  Matrix before_, wide_, narrow_{};
  double largest_a_ = 0;
  std::vector<Point> points_;
  Numbers mode_{}, mean_{}, variance_{};
};

}  // namespace

OwnTube own_tube(const Tube& tube, const TriodeLaw& law, bool one_bottle, const Tolerances& tolerances,
                 const std::vector<TubeReading>& readings) {
  return Posterior(tube, law, one_bottle, tolerances, readings).told();
}

}  // namespace antiphase
