#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "stagemodels/tubes/output_law.h"

namespace antiphase {
namespace {

using Vector = Eigen::VectorXd;

/// How far off each number may be, as a share of itself.
constexpr double kCurrent = 0.10, kScreen = 0.25, kGm = 0.10, kRp = 0.25, kMu = 0.05;
constexpr double kExponentPull = 0.10, kSharpnessPull = 0.50;

template <class Law>
struct Fit {
  const Law& start;
  std::span<const OutputValvePoint> points;

  static constexpr auto kFields = Law::fields();
  static constexpr double kLeast =
      1e-4;  // of a parameter whose range begins at nothing: a logarithm needs it
  /// Working points say nothing of the triode's offset and of what happens at low plate voltage.
  static bool held(const auto& field) {
    return field.name == "vct" || field.name == "kvb" || field.name == "knee_v";
  }

  static Law law_at(const Law& start, const Vector& p) {
    Law law = start;
    for (std::size_t k = 0; k < kFields.size(); ++k)
      if (!held(kFields[k]))
        law.*kFields[k].member = std::clamp(std::exp(p[static_cast<Eigen::Index>(k)]),
                                            std::max(kFields[k].low, kLeast), kFields[k].high);
    return law;
  }
  static Vector parameters(const Law& law) {
    Vector p(kFields.size());
    for (std::size_t k = 0; k < kFields.size(); ++k)
      p[static_cast<Eigen::Index>(k)] = std::log(std::max(std::abs(law.*kFields[k].member), kLeast));
    return p;
  }

  Vector residuals(const Vector& p) const {
    const OutputLaw law = law_at(start, p);
    std::vector<double> out;
    const auto add = [&](const std::optional<double>& got, const std::optional<double>& want, double share) {
      if (want) out.push_back(std::log(got.value_or(1e-30) / *want) / share);
    };
    for (const OutputValvePoint& point : points) {
      const OutputValvePoint got = modelled(law, point);
      add(got.plate_current_a, point.plate_current_a, kCurrent);
      add(got.screen_current_a, point.screen_current_a, kScreen);
      add(got.gm_s, point.gm_s, kGm);
      add(got.rp_ohm, point.rp_ohm, kRp);
      add(got.mu, point.mu, kMu);
    }
    for (std::size_t k = 0; k < kFields.size(); ++k) {
      const double moved =
          p[static_cast<Eigen::Index>(k)] - std::log(std::max(start.*kFields[k].member, kLeast));
      if (kFields[k].name == "ex") out.push_back(moved / kExponentPull);
      if (kFields[k].name == "kp") out.push_back(moved / kSharpnessPull);
    }
    return Eigen::Map<const Vector>(out.data(), static_cast<Eigen::Index>(out.size()));
  }

  Eigen::MatrixXd slopes(const Vector& p, const Vector& at) const {
    constexpr double kStep = 1e-6;
    Eigen::MatrixXd J(at.size(), p.size());
    for (Eigen::Index k = 0; k < p.size(); ++k) {
      Vector moved = p;
      moved[k] += kStep;
      J.col(k) = (residuals(moved) - at) / kStep;
    }
    return J;
  }

  Law run() const {
    Vector p = parameters(start), r = residuals(p);
    double damping = 1e-2;
    for (int n = 0; n < 300 && damping < 1e12; ++n) {
      const Eigen::MatrixXd J = slopes(p, r);
      const Eigen::MatrixXd normal = J.transpose() * J;
      const Eigen::MatrixXd damped =
          normal + damping * (normal.diagonal().array() + 1e-9).matrix().asDiagonal().toDenseMatrix();
      const Vector step = damped.ldlt().solve(-J.transpose() * r);
      const Vector there = residuals(p + step);
      if (there.squaredNorm() < r.squaredNorm()) {
        p += step;
        r = there;
        damping *= 0.3;
      } else {
        damping *= 4;
      }
    }
    return law_at(start, p);
  }
};

}  // namespace

OutputLaw usual_output_law(bool triode) {
  if (triode) return Koren1996{.mu = 4, .ex = 1.4, .kg1 = 1500, .kp = 60, .kvb = 300, .vct = 0};
  return SpaceCurrentPentode{};
}

OutputLaw fit_output_law(const OutputLaw& start, std::span<const OutputValvePoint> points) {
  return std::visit(
      [&](const auto& law) {
        return OutputLaw(Fit<std::decay_t<decltype(law)>>{law, points}.run());
      },
      start);
}

}  // namespace antiphase
