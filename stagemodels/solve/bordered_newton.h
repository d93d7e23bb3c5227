/// Newton's method for a periodic steady state with all unknowns taken at once.
///
/// Unknowns: L node voltages at each instant, and B that are the same for the whole cycle (drive,
/// capacitor voltages). Kirchhoff's law ties the L at each instant; B equations tie the instants.
/// The matrix is block-diagonal with a thin border: each instant's L x L block is eliminated, the
/// B x B rest is solved, everything is updated together. No inner iterations.
/// Source: block elimination of bordered systems, e.g. Golub & Van Loan, Matrix Computations, 4th ed., 4.5;
/// damping by residual as in Nocedal & Wright, Numerical Optimization, 2nd ed., section 11.2.
#pragma once

#include <Eigen/Core>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

#include "stagemodels/solve/instants.h"

namespace antiphase {

template <int L, int B>
struct CycleState {
  std::array<Row, L> x{};     ///< node voltages, #L by #instants, V
  std::array<double, B> y{};  ///< [0] drive peak V, then capacitor voltages
};

/// F(x_k, y) = 0 at each instant k, G(x, y) = 0 for the whole cycle, and their derivatives.
template <int L, int B>
struct CycleEquations {
  std::array<Row, L> F;
  std::array<std::array<Row, L>, L> F_x;
  std::array<std::array<Row, B>, L> F_y;
  std::array<double, B> G;
  std::array<std::array<Row, L>, B> G_x;  ///< by node voltage at each instant, weights included
  std::array<std::array<double, B>, B> G_y;
};

/// What fixes the drive: its value, or the fundamental of one output.
struct DriveCondition {
  int output = -1;  ///< -1: y[0] = value; otherwise sign * fundamental of x[output] = value
  double sign = 1;
  double value = 0;
};

enum class NewtonEnd { settled, step_limit, singular };

template <class Circuit>
class BorderedNewton {
 public:
  static constexpr int L = Circuit::kLocal, B = Circuit::kBorder;
  using State = CycleState<L, B>;

  /// A step this small leaves an error of its square (per volt), far below the microvolt.
  static constexpr double kSettledStep_v = 1e-5;
  static constexpr int kMostSteps = 40;

  explicit BorderedNewton(const Circuit& circuit) : circuit_(circuit) {}

  /// Improves `state` until it satisfies the circuit at `instants` and the drive condition.
  /// Circuit::assemble must leave equation G[0] to this class. Cost: about 1 us a step for 17 instants.
  NewtonEnd solve(const Instants& instants, const DriveCondition& drive, State& state, int& steps) {
    double before = assemble(instants, drive, state);
    for (int n = 0; n < kMostSteps; ++n) {
      if (!std::isfinite(before) || !eliminate(instants)) return NewtonEnd::singular;
      double largest = step(instants);
      if (!std::isfinite(largest)) return NewtonEnd::singular;
      ++steps;
      // Far from the solution a full step may leap over the foot of the current law.
      double share = std::min(1.0, kMostVoltsAStep / std::max(largest, 1e-300));
      const State from = state;
      for (int halvings = 0;; ++halvings) {
        move(instants, from, share, state);
        if (largest * share < kSettledStep_v && share == 1.0) return NewtonEnd::settled;
        const double after = assemble(instants, drive, state);
        if (std::isfinite(after) && (after <= kToleratedRise * before || halvings == kMostHalvings)) {
          before = after;
          break;
        }
        if (halvings == kMostHalvings) return NewtonEnd::singular;
        share *= 0.5;
      }
    }
    return NewtonEnd::step_limit;
  }

  /// Moves `state` along the solution's tangent for a change of the drive condition's value.
  /// Uses the matrix of the last solve. Allowed: right after a settled solve of the same condition.
  void predict(const Instants& instants, double change, State& state) const {
    std::array<double, B> dy{};
    for (int b = 0; b < B; ++b) dy[b] = border_inverse_(b, 0) * change;
    for (int r = 0; r < L; ++r)
      for (int b = 0; b < B; ++b)
        for (int k = 0; k < instants.count; ++k) state.x[r][k] -= solved_y_[r][b][k] * dy[b];
    for (int b = 0; b < B; ++b) state.y[b] += dy[b];
  }

  const CycleEquations<L, B>& equations() const { return eq_; }

 private:
  static constexpr double kMostVoltsAStep = 150;  // a plate may travel the supply in a few steps
  static constexpr double kToleratedRise = 3;     // full steps near the solution may rise a little
  static constexpr int kMostHalvings = 6;

  double assemble(const Instants& instants, const DriveCondition& drive, const State& state) {
    circuit_.assemble(instants, state, eq_);
    for (auto& row : eq_.G_x[0]) row.fill(0);
    eq_.G_y[0].fill(0);
    if (drive.output < 0) {
      eq_.G[0] = state.y[0] - drive.value;
      eq_.G_y[0][0] = 1;
    } else {
      double fundamental = 0;
      for (int k = 0; k < instants.count; ++k) {
        const double w = drive.sign * instants.harmonic[1][k];
        eq_.G_x[0][drive.output][k] = w;
        fundamental += w * state.x[drive.output][k];
      }
      eq_.G[0] = fundamental - drive.value;
    }
    double worst = 0;
    for (const Row& row : eq_.F)
      for (int k = 0; k < instants.count; ++k) worst = std::fmax(worst, std::abs(row[k]));
    bool finite = std::isfinite(worst);
    // currents against voltages: one milliampere counts as much as one volt
    worst *= 1e3;
    for (double g : eq_.G) {
      worst = std::fmax(worst, std::abs(g));
      finite = finite && std::isfinite(g);
    }
    // fmax passes over NaN, so a sum is looked at as well
    double sum = 0;
    for (const Row& row : eq_.F)
      for (int k = 0; k < instants.count; ++k) sum += row[k];
    return finite && std::isfinite(sum) ? worst : std::numeric_limits<double>::infinity();
  }

  /// solved_f = F_x^-1 F and solved_y = F_x^-1 F_y at every instant, without pivoting: the pivots are
  /// the (negated) conductances of Kirchhoff's law, which the circuits keep away from zero.
  bool eliminate(const Instants& instants) {
    const int n = instants.count;
    solved_f_ = eq_.F;
    solved_y_ = eq_.F_y;
    auto& A = eq_.F_x;
    for (int p = 0; p < L; ++p) {
      for (int k = 0; k < n; ++k) {
        const double inverse = 1 / A[p][p][k];
        for (int c = p + 1; c < L; ++c) A[p][c][k] *= inverse;
        solved_f_[p][k] *= inverse;
        for (int b = 0; b < B; ++b) solved_y_[p][b][k] *= inverse;
      }
      for (int r = 0; r < L; ++r) {
        if (r == p) continue;
        for (int k = 0; k < n; ++k) {
          const double factor = A[r][p][k];
          for (int c = p + 1; c < L; ++c) A[r][c][k] -= factor * A[p][c][k];
          solved_f_[r][k] -= factor * solved_f_[p][k];
          for (int b = 0; b < B; ++b) solved_y_[r][b][k] -= factor * solved_y_[p][b][k];
        }
      }
    }
    Eigen::Matrix<double, B, B> border;
    for (int b = 0; b < B; ++b) {
      double rest = -eq_.G[b];
      std::array<double, B> row = eq_.G_y[b];
      for (int r = 0; r < L; ++r)
        for (int k = 0; k < n; ++k) {
          const double h = eq_.G_x[b][r][k];
          rest += h * solved_f_[r][k];
          for (int c = 0; c < B; ++c) row[c] -= h * solved_y_[r][c][k];
        }
      for (int c = 0; c < B; ++c) border(b, c) = row[c];
      border_rest_(b) = rest;
    }
    border_inverse_ = border.partialPivLu().inverse();
    return border_inverse_.allFinite();
  }

  /// Fills the full step; returns its largest voltage.
  double step(const Instants& instants) {
    const Eigen::Matrix<double, B, 1> dy = border_inverse_ * border_rest_;
    double largest = 0;
    for (int b = 0; b < B; ++b) {
      step_.y[b] = dy(b);
      largest = std::fmax(largest, std::abs(dy(b)));
    }
    for (int r = 0; r < L; ++r)
      for (int k = 0; k < instants.count; ++k) {
        double dx = -solved_f_[r][k];
        for (int b = 0; b < B; ++b) dx -= solved_y_[r][b][k] * dy(b);
        step_.x[r][k] = dx;
        largest = std::fmax(largest, std::abs(dx));
      }
    return dy.allFinite() ? largest : std::numeric_limits<double>::quiet_NaN();
  }

  void move(const Instants& instants, const State& from, double share, State& to) const {
    for (int r = 0; r < L; ++r)
      for (int k = 0; k < instants.count; ++k) to.x[r][k] = from.x[r][k] + share * step_.x[r][k];
    for (int b = 0; b < B; ++b) to.y[b] = from.y[b] + share * step_.y[b];
  }

  const Circuit& circuit_;
  CycleEquations<L, B> eq_;
  std::array<Row, L> solved_f_;
  std::array<std::array<Row, B>, L> solved_y_;
  Eigen::Matrix<double, B, B> border_inverse_;
  Eigen::Matrix<double, B, 1> border_rest_;
  State step_;
};

}  // namespace antiphase
