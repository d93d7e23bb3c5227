/// Newton's method for a periodic steady state with all unknowns taken at once.
///
/// Unknowns: L node voltages at each instant, and B that are the same for the whole cycle (drive,
/// capacitor voltages). Kirchhoff's law ties the L at each instant; B equations tie the instants.
/// The matrix is block-diagonal with a thin border: each instant's L x L block is eliminated, the
/// B x B rest is solved, everything is updated together. No inner iterations.
/// Source: block elimination of bordered systems, e.g. Golub & Van Loan, Matrix Computations, 4th ed., 4.5;
/// damping by residual as in Nocedal & Wright, Numerical Optimization, 2nd ed., section 11.2.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "stagemodels/solve/instants.h"
#include "stagemodels/solve/rows.h"

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
  /// By node voltage at each instant, weights included. Only the rows that the circuit's table `kTies`
  /// names are filled and read; row 0 is the drive condition's.
  std::array<std::array<Row, L>, B> G_x;
  std::array<std::array<double, B>, B> G_y;
};

/// What fixes the drive: its value, or the fundamental of one output.
struct DriveCondition {
  int output = -1;     ///< -1: y[0] = value; otherwise sign * fundamental of x[output] = value
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
  /// Circuit::assemble must leave equation G[0] to this class. Cost: about 1 us a step for 16 instants.
  NewtonEnd solve(const Instants& instants, const DriveCondition& drive, State& state, int& steps) {
    double before = assemble(instants, drive, state);
    for (int n = 0; n < kMostSteps; ++n) {
      if (!std::isfinite(before)) return NewtonEnd::singular;
      eliminate(instants, drive);
      ++steps;
      const State from = state;
      double share = 1;
      for (int halvings = 0;; ++halvings) {
        const double largest = move(instants, from, share, state);
        if (!std::isfinite(largest)) return NewtonEnd::singular;
        if (largest < kSettledStep_v && share == 1) return NewtonEnd::settled;
        if (halvings == 0 && largest > kMostVoltsAStep) {  // may leap over the foot of the current law
          share = kMostVoltsAStep / largest;
          move(instants, from, share, state);
        }
        const double after = assemble(instants, drive, state);
        if (after <= kToleratedRise * before || (halvings == kMostHalvings && std::isfinite(after))) {
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
    for (int b = 0; b < B; ++b) {
      dy[b] = tangent_[b] * change;
      state.y[b] += dy[b];
    }
    static constexpr std::array<Row, L> kNone{};
    rows::move(L, B, instants.count, state.x[0].data(), kNone[0].data(), eq_.F_y[0][0].data(), dy.data(), 1,
               state.x[0].data());
  }

 private:
  static constexpr double kMostVoltsAStep = 150;  // a plate may travel the supply in a few steps
  static constexpr double kToleratedRise = 3;     // full steps near the solution may rise a little
  static constexpr int kMostHalvings = 6;
  static constexpr double kVoltsPerAmpere = 1e3;  // in the residual, a milliampere counts as a volt

  /// Fills the equations; returns the size of their residual, infinity if it is not finite.
  double assemble(const Instants& instants, const DriveCondition& drive, const State& state) {
    circuit_.assemble(instants, state, eq_);
    if (drive.output < 0)
      eq_.G[0] = state.y[0] - drive.value;
    else
      eq_.G[0] = drive.sign * rows::dot(instants.harmonic[1].data(), state.x[drive.output].data(), instants.count) -
                 drive.value;
    double worst = 0;
    for (const Row& row : eq_.F)
      worst = std::fmax(worst, kVoltsPerAmpere * rows::largest_size(row.data(), instants.count));
    for (double g : eq_.G) worst = std::isfinite(g) ? std::fmax(worst, std::abs(g)) : INFINITY;
    return worst;
  }

  /// F and F_y become F_x^-1 F and F_x^-1 F_y at every instant (the pivots are the negated conductances of
  /// Kirchhoff's law, which the circuits keep away from zero); then the border is solved.
  void eliminate(const Instants& instants, const DriveCondition& drive) {
    const int n = instants.count;
    rows::eliminate(L, B, n, eq_.F_x[0][0].data(), eq_.F[0].data(), eq_.F_y[0][0].data());
    // B rows of: border matrix, right side of the step, right side of the tangent
    std::array<std::array<double, B + 2>, B> border{};
    for (int b = 0; b < B; ++b) {
      std::array<double, B + 2>& row = border[b];
      if (b == 0)
        row[0] = drive.output < 0 ? 1.0 : 0.0;
      else
        std::copy_n(eq_.G_y[b].begin(), B, row.begin());
      row[B] = -eq_.G[b];
      row[B + 1] = b == 0 ? 1 : 0;
      for (int r = 0; r < L; ++r) {
        const double* weight = nullptr;
        double factor = 1;
        if (b > 0 && Circuit::kTies[b][r]) weight = eq_.G_x[b][r].data();
        if (b == 0 && r == drive.output) {
          weight = instants.harmonic[1].data();
          factor = drive.sign;
        }
        if (!weight) continue;
        std::array<double, B> taken;
        rows::dots(weight, eq_.F_y[r][0].data(), B, n, taken.data());
        for (int c = 0; c < B; ++c) row[c] -= factor * taken[c];
        row[B] += factor * rows::dot(weight, eq_.F[r].data(), n);
      }
    }
    solve_border(border);
    for (int b = 0; b < B; ++b) {
      step_[b] = border[b][B];
      tangent_[b] = border[b][B + 1];
    }
  }

  /// Gauss-Jordan with partial pivoting; the right sides become the solutions.
  /// Not Eigen's PartialPivLU: for two right sides of length 5 its blocked path takes three times as long.
  static void solve_border(std::array<std::array<double, B + 2>, B>& m) {
    for (int p = 0; p < B; ++p) {
      int best = p;
      for (int r = p + 1; r < B; ++r)
        if (std::abs(m[r][p]) > std::abs(m[best][p])) best = r;
      std::swap(m[p], m[best]);
      const double inverse = 1 / m[p][p];
      for (double& v : m[p]) v *= inverse;
      for (int r = 0; r < B; ++r) {
        if (r == p) continue;
        const double factor = m[r][p];
        for (int c = 0; c < B + 2; ++c) m[r][c] -= factor * m[p][c];
      }
    }
  }

  double move(const Instants& instants, const State& from, double share, State& to) const {
    double largest = rows::move(L, B, instants.count, from.x[0].data(), eq_.F[0].data(), eq_.F_y[0][0].data(),
                                step_.data(), share, to.x[0].data());
    for (int b = 0; b < B; ++b) {
      to.y[b] = from.y[b] + share * step_[b];
      largest = std::isfinite(step_[b]) ? std::fmax(largest, std::abs(step_[b])) : INFINITY;
    }
    return largest;
  }

  const Circuit& circuit_;
  CycleEquations<L, B> eq_;
  std::array<double, B> step_{}, tangent_{};
};

}  // namespace antiphase
