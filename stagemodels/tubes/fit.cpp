#include "stagemodels/tubes/fit.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <unsupported/Eigen/NonLinearOptimization>

#include "stagemodels/tubes/fit_axes.h"

namespace antiphase {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

/// A residual past this many standard deviations adds nothing more: keeps wild starts finite.
constexpr double kLargestResidual = 1e6;
constexpr double kStep = 1e-5;           // of u, for central differences: about the cube root of epsilon
constexpr double kUndetermined = 1e-12;  // reciprocal condition below which parameters are not told apart
constexpr int kRoundsFirst = 2, kRoundsLast = 30;  // reweightings: from every start; of the best
constexpr std::size_t kRefined = 4;                // how many starts are followed to the end

/// The weighted residuals as a function of u, in the shape that Eigen's optimizer asks for.
class Residuals {
 public:
  Residuals(const TriodeLaw& given, std::span<const FitObservation> observations, const FitOptions& options,
            std::vector<Axis> axes)
      : given_(given), observations_(observations), options_(options), axes_(std::move(axes)) {
    weight_ = VectorXd::Ones(data_rows());
    given_place_ = places_of(given);
  }

  int inputs() const { return static_cast<int>(axes_.size()); }
  int data_rows() const { return static_cast<int>(observations_.size()); }
  int values() const { return data_rows() + (pulled() ? inputs() : 0); }

  bool pulled() const { return options_.towards_given; }
  int independent_rows() const {
    const auto held_by_pull = [](const Axis& axis) { return axis.pulled; };
    const auto rows = pulled() ? std::count_if(axes_.begin(), axes_.end(), held_by_pull) : 0;
    return data_rows() + static_cast<int>(rows);
  }

  VectorXd places_of(TriodeLaw law) const {
    VectorXd t(inputs());
    each_parameter(law, [&](int index, const auto&, double value) {
      for (int k = 0; k < inputs(); ++k)
        if (axes_[k].index == index) t[k] = axes_[k].place(value);
    });
    return t;
  }

  TriodeLaw law_at(const VectorXd& u) const {
    TriodeLaw law = given_;
    each_parameter(law, [&](int index, const auto&, double& value) {
      for (int k = 0; k < inputs(); ++k)
        if (axes_[k].index == index) value = axes_[k].value(logistic(u[k]));
    });
    return law;
  }

  /// #values, in standard deviations, not yet reweighted.
  void plain(const VectorXd& u, VectorXd& r) {
    ++evaluations_;
    const TriodeLaw law = law_at(u);
    for (int k = 0; k < data_rows(); ++k) {
      const FitObservation& o = observations_[k];
      const std::optional<double> is = characteristic_of(law, o);
      const double off = is ? (*is - o.value) / o.uncertainty : kLargestResidual;
      r[k] = std::isfinite(off) ? std::clamp(off, -kLargestResidual, kLargestResidual) : kLargestResidual;
    }
    for (int k = data_rows(); k < values(); ++k) {
      const int axis = k - data_rows();
      r[k] = axes_[axis].pulled ? (logistic(u[axis]) - given_place_[axis]) / axes_[axis].pull_width() : 0;
    }
  }

  int operator()(const VectorXd& u, VectorXd& r) {
    plain(u, r);
    r.head(data_rows()).array() *= weight_.array();
    return 0;
  }

  int df(const VectorXd& u, MatrixXd& jacobian) {
    VectorXd at = u, above(values()), below(values());
    for (int k = 0; k < inputs(); ++k) {
      at[k] = u[k] + kStep;
      (*this)(at, above);
      at[k] = u[k] - kStep;
      (*this)(at, below);
      at[k] = u[k];
      jacobian.col(k) = (above - below) / (2 * kStep);
    }
    return 0;
  }

  /// Half the sum of the loss: r^2 near, linear far (soft L1). `r` as from plain().
  double cost(const VectorXd& r) const {
    double sum = 0;
    for (int k = 0; k < r.size(); ++k) sum += 0.5 * loss(r[k], k < data_rows());
    return sum;
  }

  void reweight(const VectorXd& r) {
    if (!(options_.robust_from > 0)) return;
    for (int k = 0; k < data_rows(); ++k)  // square root of the loss's slope, so that w r enters squares
      weight_[k] = std::pow(1 + r[k] * r[k] / (options_.robust_from * options_.robust_from), -0.25);
  }
  void equal_weights() { weight_.setOnes(); }

  const std::vector<Axis>& axes() const { return axes_; }
  int evaluations() const { return evaluations_; }

 private:
  double loss(double r, bool data) const {
    const double s = options_.robust_from;
    if (!data || !(s > 0)) return r * r;
    return 2 * s * s * (std::sqrt(1 + r * r / (s * s)) - 1);
  }

  TriodeLaw given_;
  std::span<const FitObservation> observations_;
  const FitOptions& options_;
  std::vector<Axis> axes_;
  VectorXd weight_, given_place_;
  int evaluations_ = 0;
};

struct Solution {
  VectorXd u;
  double cost = INFINITY;
};

/// Levenberg-Marquardt within reweighting rounds, until the cost stands still.
Solution descend(Residuals& residuals, VectorXd u, int rounds) {
  VectorXd r(residuals.values());
  residuals.equal_weights();
  Solution best{u, INFINITY};
  for (int round = 0; round < rounds; ++round) {
    Eigen::LevenbergMarquardt<Residuals> levenberg(residuals);
    levenberg.parameters.maxfev = 60;
    levenberg.parameters.ftol = levenberg.parameters.xtol = 1e-12;
    if (levenberg.minimize(u) == Eigen::LevenbergMarquardtSpace::ImproperInputParameters) break;
    residuals.plain(u, r);
    const double cost = residuals.cost(r);
    if (!std::isfinite(cost)) break;
    const bool still = cost > best.cost * (1 - 1e-12);
    if (cost < best.cost) best = {u, cost};
    if (still && round >= kRoundsFirst) break;
    residuals.reweight(r);
  }
  return best;
}

/// Place of the n-th point of the van der Corput sequence to a base, in (0, 1).
double van_der_corput(int n, int base) {
  double t = 0, digit = 1;
  for (; n > 0; n /= base) t += (digit /= base) * (n % base);
  return t;
}

VectorXd start_at(int n, int inputs) {
  constexpr std::array kPrimes{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37};
  VectorXd u(inputs);
  for (int k = 0; k < inputs; ++k) {
    const int base = kPrimes[static_cast<std::size_t>(k) % kPrimes.size()];
    u[k] = logit(0.02 + 0.96 * van_der_corput(n, base));  // off the flat ends
  }
  return u;
}

/// Standard errors of the free parameters, in axis places. Empty where none can be stated.
std::vector<std::optional<double>> errors_of(Residuals& residuals, const VectorXd& u) {
  std::vector<std::optional<double>> errors(residuals.axes().size());
  std::vector<int> inner;  // an end of a range is a choice, not a measurement
  for (int k = 0; k < residuals.inputs(); ++k)
    if (const double t = logistic(u[k]); t > kEdge && t < 1 - kEdge) inner.push_back(k);
  VectorXd r(residuals.values());
  residuals.plain(u, r);
  residuals.reweight(r);
  MatrixXd by_u(residuals.values(), residuals.inputs());
  residuals.df(u, by_u);
  residuals(u, r);
  const int freedom = residuals.independent_rows() - static_cast<int>(inner.size());
  if (inner.empty() || freedom <= 0) return errors;
  // A pull has a width of its own: a handful of well met points must not make it look narrower.
  const double least_variance = residuals.pulled() ? 1 : 0;
  const double variance = std::max(least_variance, r.squaredNorm() / freedom);
  MatrixXd by_place(residuals.values(), static_cast<int>(inner.size()));
  for (int c = 0; c < by_place.cols(); ++c) {
    const double t = logistic(u[inner[c]]);
    by_place.col(c) = by_u.col(inner[c]) / (t * (1 - t));
  }
  const MatrixXd information = by_place.transpose() * by_place;
  const Eigen::LDLT<MatrixXd> factors(information);
  if (factors.info() != Eigen::Success || !(factors.rcond() > kUndetermined)) return errors;
  const MatrixXd covariance = factors.solve(MatrixXd::Identity(by_place.cols(), by_place.cols())) * variance;
  for (int c = 0; c < by_place.cols(); ++c) errors[inner[c]] = std::sqrt(covariance(c, c));
  return errors;
}

bool sound(const FitObservation& o) {
  const bool grid =
      o.grid_v ? std::isfinite(*o.grid_v) : (std::isfinite(o.at_current_a) && o.at_current_a > 0);
  return grid && std::isfinite(o.plate_v) && o.plate_v > 0 && std::isfinite(o.value) && o.value > 0 &&
         std::isfinite(o.uncertainty) && o.uncertainty > 0;
}

void describe(FitOutcome& outcome, Residuals& residuals, const VectorXd& u) {
  const std::vector<std::optional<double>> place_errors = errors_of(residuals, u);
  each_parameter(outcome.law, [&](int index, const auto& field, double value) {
    FittedParameter p{field.name, field.unit, value, std::nullopt};
    for (std::size_t k = 0; k < place_errors.size(); ++k) {
      const Axis& axis = residuals.axes()[k];
      if (axis.index == index && place_errors[k])
        p.standard_error = *place_errors[k] * axis.width() * (axis.logarithmic ? value : 1);
    }
    outcome.parameters.push_back(p);
  });
}

}  // namespace

FitOutcome fit_law(const TriodeLaw& given, std::span<const FitObservation> observations,
                   const FitOptions& options) {
  FitOutcome outcome;
  outcome.law = given;
  outcome.modelled.resize(observations.size());
  const std::span<const FitRange> ranges = options.ranges.empty() ? usual_ranges(given) : options.ranges;
  std::vector<Axis> axes = axes_of(given, ranges);
  if (!std::all_of(observations.begin(), observations.end(), sound)) {
    outcome.stop = FitStop::bad_observation;
    return outcome;
  }
  if (axes.empty()) {
    outcome.stop = FitStop::nothing_to_fit;
    return outcome;
  }
  if (observations.empty() || (observations.size() < axes.size() && !options.towards_given)) {
    outcome.stop = FitStop::too_few_observations;
    return outcome;
  }
  Residuals residuals(given, observations, options, std::move(axes));

  std::vector<Solution> found;
  VectorXd first = residuals.places_of(given).unaryExpr(&logit);
  found.push_back(descend(residuals, first, kRoundsFirst));
  for (int n = 1; n <= options.starts; ++n)
    found.push_back(descend(residuals, start_at(n, residuals.inputs()), kRoundsFirst));
  std::stable_sort(found.begin(), found.end(),
                   [](const Solution& a, const Solution& b) { return a.cost < b.cost; });
  Solution best;
  for (std::size_t k = 0; k < std::min(kRefined, found.size()); ++k) {
    const Solution refined = descend(residuals, found[k].u, kRoundsLast);
    if (refined.cost < best.cost) best = refined;
  }
  outcome.stop = FitStop::fitted;
  outcome.law = residuals.law_at(best.u);
  outcome.cost = best.cost;
  describe(outcome, residuals, best.u);
  outcome.evaluations = residuals.evaluations();
  for (std::size_t k = 0; k < observations.size(); ++k)
    outcome.modelled[k] = characteristic_of(outcome.law, observations[k]);
  return outcome;
}

}  // namespace antiphase
