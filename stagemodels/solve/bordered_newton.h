/// Newton's method for a periodic steady state with all unknowns taken at once.
///
/// Unknowns: L node voltages at each instant, and B that are the same for the whole cycle (drive,
/// capacitor voltages). Kirchhoff's law ties the L at each instant; B means over the cycle tie the instants.
/// The matrix is block-diagonal with a thin border: each instant's L x L block is eliminated, the
/// B x B rest is solved, everything is updated together. No inner iterations.
/// Source: block elimination of bordered systems, e.g. Golub & Van Loan, Matrix Computations, 4th ed., 4.5;
/// damping by residual as in Nocedal & Wright, Numerical Optimization, 2nd ed., section 11.2.
///
/// A circuit gives: kLocal, kBorder, kPattern; `sweep`, the currents of its tubes at all instants; `local`,
/// its equations at one instant from those. Everything here is inlined into the circuit's own `solve`,
/// which is compiled for each width of vectors.
///
/// Letters (stagemodels/README.md, "Letters"): k an instant, m(k) its weight in a mean; x(k) and y the
/// unknowns; F(k) = 0 at each instant, sum m(k) g(k) = 0 over the cycle; F_x, F_y, g_x, g_y their
/// derivatives. A step is
///   F_x(k) dx(k) + F_y(k) dy = -F(k),   sum m(k) [g_x(k) dx(k) + g_y(k) dy] = -sum m(k) g(k).
#pragma once

#include <cmath>
#include <limits>
#include <utility>

#include "stagemodels/solve/cycle_solver.h"

namespace antiphase {

/// What a solve leaves behind, of at most N instants: enough to follow the solution for a change of the drive
/// condition.
template <int L, int B, int N>
struct NewtonWork {
  alignas(64) double red[L][B + 1][N];  ///< P = F_x^-1 F_y, and p = F_x^-1 F in the last column
  alignas(64) double step[L][N];
  double border[B][B + 2];  ///< matrix; right sides of the step and of the tangent
  double step_y[B], tangent[B];
};

namespace newton {

inline constexpr int kMostSteps = 40;
inline constexpr double kMostVoltsAStep = 150;  // a plate may travel the supply in a few steps
inline constexpr double kToleratedRise = 3;     // full steps near the solution may rise a little
inline constexpr int kMostHalvings = 6;
inline constexpr double kVoltsPerAmpere = 1e3;  // in the residual, a milliampere counts as a volt

template <int Count, int From = 0, class Use>
ANTIPHASE_INLINE constexpr void each(Use&& use) {
  if constexpr (From < Count) {
    use(std::integral_constant<int, From>{});
    each<Count, From + 1>(use);
  }
}
#define ANTIPHASE_STEP(name) [&](auto name) ANTIPHASE_INTO_CALLER

/// Gauss-Jordan elimination of one instant's block, without pivoting: the pivots are negated conductances
/// (why, and where that may fail: stagemodels/README.md). F and F_y become F_x^-1 F and F_x^-1 F_y.
template <class Circuit, int L, int B>
ANTIPHASE_INLINE void eliminate(InstantEquations<L, B>& e) {
  each<L>(ANTIPHASE_STEP(p) {
    constexpr auto now = filled(Circuit::kPattern, p);
    const double inverse = 1 / e.F_x[p][p];
    each<L>(ANTIPHASE_STEP(c) {
      if constexpr (c > p && now.F_x[p][c]) e.F_x[p][c] *= inverse;
    });
    each<B>(ANTIPHASE_STEP(b) {
      if constexpr (now.F_y[p][b]) e.F_y[p][b] *= inverse;
    });
    e.F[p] *= inverse;
    each<L>(ANTIPHASE_STEP(r) {
      if constexpr (r != p && now.F_x[r][p]) {
        const double factor = e.F_x[r][p];
        each<L>(ANTIPHASE_STEP(c) {
          if constexpr (c > p && now.F_x[p][c])
            e.F_x[r][c] = now.F_x[r][c] ? e.F_x[r][c] - factor * e.F_x[p][c] : -factor * e.F_x[p][c];
        });
        each<B>(ANTIPHASE_STEP(b) {
          if constexpr (now.F_y[p][b])
            e.F_y[r][b] = now.F_y[r][b] ? e.F_y[r][b] - factor * e.F_y[p][b] : -factor * e.F_y[p][b];
        });
        e.F[r] -= factor * e.F[p];
      }
    });
  });
}

/// Not std::fmax, which is a call. A NaN is found by the sums beside it.
ANTIPHASE_INLINE double larger(double a, double b) {
  return b > a ? b : a;
}

/// Partial sums of every sum over the instants of a cycle, whatever the vector width: the order of addition
/// is fixed. The rest point is a single instant.
inline constexpr int kLanes = 8;

template <int Lanes>
ANTIPHASE_INLINE double whole(const double (&part)[Lanes]) {
  if constexpr (Lanes == 8)
    return ((part[0] + part[4]) + (part[2] + part[6])) + ((part[1] + part[5]) + (part[3] + part[7]));
  double sum = 0;
  for (double p : part) sum += p;
  return sum;
}

/// Equations and their elimination at all instants, W of them side by side, and the border that is left.
/// @return the size of the residual; infinity if it is not finite.
template <class Circuit, int W, int N>
ANTIPHASE_INLINE double pass(const Circuit& circuit, const Instants& instants, const DriveCondition& drive,
                             const CycleState& state,
                             NewtonWork<Circuit::kLocal, Circuit::kBorder, N>& work) {
  constexpr int L = Circuit::kLocal, B = Circuit::kBorder;
  constexpr auto done = filled(Circuit::kPattern, L);
  const int count = W == 1 ? 1 : instants.count;
  typename Circuit::Sweep sweep;
  circuit.template sweep<W>(instants, state, sweep);

  alignas(64) double largest[W] = {}, check[W] = {};  // check: products with zero, NaN if one is not finite
  alignas(64) double g[B][W] = {}, m[B][B][W] = {}, rhs[B][W] = {};
  const auto y = state.y;
  for (int first = 0; first < count; first += W) {
#pragma GCC ivdep
    for (int lane = 0; lane < W; ++lane) {
      const int k = first + lane;
      // F(k), g(k) and their derivatives at x(k) and y.
      InstantEquations<L, B> e;
      double x[L];
      each<L>(ANTIPHASE_STEP(r) { x[r] = state.x[r][k]; });
      circuit.local(k, instants.cosine[k], x, y, sweep, e);
      const double w = instants.mean[k];
      double size = 0;
      each<L>(ANTIPHASE_STEP(r) {
        const double here = std::fabs(e.F[r]);
        size = here > size ? here : size;
        check[lane] += here * 0.0;
      });
      largest[lane] = size > largest[lane] ? size : largest[lane];
      // P(k) = F_x^-1 F_y stands in e.F_y, p(k) = F_x^-1 F in e.F from here on.
      eliminate<Circuit>(e);
      each<B>(ANTIPHASE_STEP(b) {
        if constexpr (b > 0) {
          // sum m(k) g(k)
          g[b][lane] += w * e.g[b];
          // M = sum m(k) [g_y(k) - g_x(k) P(k)]
          each<B>(ANTIPHASE_STEP(c) {
            double by = 0;
            if constexpr (Circuit::kPattern.g_y[b][c]) by = e.g_y[b][c];
            each<L>(ANTIPHASE_STEP(r) {
              if constexpr (Circuit::kPattern.g_x[b][r] && done.F_y[r][c]) by -= e.g_x[b][r] * e.F_y[r][c];
            });
            m[b][c][lane] += w * by;
          });
          // sum m(k) g_x(k) p(k)
          double by = 0;
          each<L>(ANTIPHASE_STEP(r) {
            if constexpr (Circuit::kPattern.g_x[b][r]) by += e.g_x[b][r] * e.F[r];
          });
          rhs[b][lane] += w * by;
        }
      });
      // Kept for the step: dx(k) = -p(k) - P(k) dy.
      each<L>(ANTIPHASE_STEP(r) {
        each<B>(ANTIPHASE_STEP(b) { work.red[r][b][k] = done.F_y[r][b] ? e.F_y[r][b] : 0.0; });
        work.red[r][B][k] = e.F[r];
      });
    }
  }

  // The condition that fixes the drive. A value: dy0 = value - y0. A level a(x) of an output (its
  // fundamental): -a(P) dy = value - a(x) + a(p).
  // A voltage c x(k) + d y at an instant k: (d - c P(k)) dy = value - c x(k) - d y + c p(k).
  double residual_0 = y[0] - drive.value;
  double(&row)[B + 2] = work.border[0];
  for (double& v : row) v = 0;
  row[0] = 1;
  if (drive.per) {
    const int k = drive.instant;
    residual_0 = -drive.value;
    for (int c = 0; c < B; ++c) {
      row[c] = drive.per[L + c] * (c == 0 ? instants.cosine[k] : 1.0);
      residual_0 += row[c] * y[c];
    }
    for (int r = 0; r < L; ++r) {
      residual_0 += drive.per[r] * state.x[r][k];
      for (int c = 0; c < B; ++c) row[c] -= drive.per[r] * work.red[r][c][k];
      row[B] += drive.per[r] * work.red[r][B][k];
    }
  } else if (drive.output >= 0) {
    const auto along = [&](const double* a) ANTIPHASE_INTO_CALLER {
      double part[W] = {};
      for (int first = 0; first < count; first += W)
        for (int lane = 0; lane < W; ++lane)
          part[lane] += instants.harmonic[1][first + lane] * a[first + lane];
      return drive.sign * whole(part);
    };
    residual_0 = along(state.x[drive.output].data()) - drive.value;
    for (int c = 0; c < B; ++c) row[c] = -along(work.red[drive.output][c]);
    row[B] = along(work.red[drive.output][B]);
  }
  row[B] -= residual_0;
  row[B + 1] = 1;

  // The other rows of the border: M dy = sum m(k) g_x(k) p(k) - sum m(k) g(k). The last column is the right
  // side of the tangent, in which the value of the drive's condition grows by one.
  double worst = std::fabs(residual_0), sum = worst * 0.0;
  for (int b = 1; b < B; ++b) {
    const double mean = whole(g[b]);
    worst = larger(worst, std::fabs(mean));
    sum += mean * 0.0;
    for (int c = 0; c < B; ++c) work.border[b][c] = whole(m[b][c]);
    work.border[b][B] = whole(rhs[b]) - mean;
    work.border[b][B + 1] = 0;
  }
  for (int lane = 0; lane < W; ++lane) {
    worst = larger(worst, kVoltsPerAmpere * largest[lane]);
    sum += check[lane];
  }
  return sum == 0 ? worst : std::numeric_limits<double>::infinity();
}

/// Elimination with partial pivoting for two right sides. Not Eigen's: its blocked path takes three times
/// as long at this size.
template <int B>
ANTIPHASE_INLINE void solve_border(double (&m)[B][B + 2], double (&first)[B], double (&second)[B]) {
  each<B>(ANTIPHASE_STEP(p) {
    int best = p;
    double most = std::fabs(m[p][p]);
    each<B>(ANTIPHASE_STEP(r) {
      if constexpr (r > p) {
        const double size = std::fabs(m[r][p]);
        best = size > most ? int{r} : best;
        most = size > most ? size : most;
      }
    });
    if (best != p)
      for (int c = 0; c < B + 2; ++c) std::swap(m[p][c], m[best][c]);
    const double inverse = 1 / m[p][p];
    each<B>(ANTIPHASE_STEP(r) {
      if constexpr (r > p) {
        const double factor = m[r][p] * inverse;
        each<B + 2>(ANTIPHASE_STEP(c) {
          if constexpr (c > p) m[r][c] -= factor * m[p][c];
        });
      }
    });
  });
  for (int p = B - 1; p >= 0; --p) {
    double a = m[p][B], b = m[p][B + 1];
    for (int c = p + 1; c < B; ++c) {
      a -= m[p][c] * first[c];
      b -= m[p][c] * second[c];
    }
    first[p] = a / m[p][p];
    second[p] = b / m[p][p];
  }
}

/// The whole step from the eliminated equations. @return its largest size; infinity if not finite.
template <int W, int L, int B, int N>
ANTIPHASE_INLINE double make_step(NewtonWork<L, B, N>& work, int count) {
  solve_border<B>(work.border, work.step_y, work.tangent);
  alignas(64) double part[W] = {}, check[W] = {};
  for (int first = 0; first < count; first += W)
#pragma GCC ivdep
    for (int lane = 0; lane < W; ++lane) {
      const int k = first + lane;
      // dx(k) = -p(k) - P(k) dy
      each<L>(ANTIPHASE_STEP(r) {
        double step = -work.red[r][B][k];
        each<B>(ANTIPHASE_STEP(b) { step -= work.red[r][b][k] * work.step_y[b]; });
        work.step[r][k] = step;
        const double size = std::fabs(step);
        part[lane] = size > part[lane] ? size : part[lane];
        check[lane] += size * 0.0;
      });
    }
  double largest = 0, sum = 0;
  for (double dy : work.step_y) {
    largest = larger(largest, std::fabs(dy));
    sum += dy * 0.0;
  }
  for (int lane = 0; lane < W; ++lane) {
    largest = larger(largest, part[lane]);
    sum += check[lane];
  }
  return sum == 0 ? largest : std::numeric_limits<double>::infinity();
}

template <int L, int B, int N>
ANTIPHASE_INLINE void move(const NewtonWork<L, B, N>& work, double share, int count, CycleState& state) {
  for (int r = 0; r < L; ++r)
    for (int k = 0; k < count; ++k) state.x[r][k] += share * work.step[r][k];
  for (int b = 0; b < B; ++b) state.y[b] += share * work.step_y[b];
}

/// Newton's steps until the last one is small, whatever makes them. `Steps`: pass() fills in the equations at
/// the state and gives the size of what is left of them; make_step() solves them and gives the largest part
/// of the step; keep() remembers the state, back() returns to it, move(share) adds a share of the step.
template <class Steps>
ANTIPHASE_INLINE NewtonEnd iterate(Steps& at, double settled_step_v, int& steps) {
  double before = 0, share = 1;  // size of the residual at the state kept; how much of the step is tried
  at.keep();
  // One place calls `pass`, which is inlined and is most of the code.
  for (int made = 0, halvings = 0;;) {
    const double size = at.pass();
    if (made > 0 && !(size <= kToleratedRise * before)) {
      if (halvings < kMostHalvings) {
        ++halvings;
        share *= 0.5;
        at.back();
        at.move(share);  // `pass` leaves the step as it is
        continue;
      }
    }
    if (!std::isfinite(size)) return NewtonEnd::singular;
    if (made == kMostSteps) return NewtonEnd::step_limit;
    before = size;
    const double largest = at.make_step();
    ++made;
    ++steps;
    if (!std::isfinite(largest)) return NewtonEnd::singular;
    if (largest < settled_step_v) {
      at.move(1);
      return NewtonEnd::settled;
    }
    // A long step may leap over the foot of the current law.
    share = largest > kMostVoltsAStep ? kMostVoltsAStep / largest : 1;
    halvings = 0;
    at.keep();
    at.move(share);
  }
}

/// The steps of a circuit whose equations the compiler has unrolled.
template <class Circuit, int W, int N>
struct UnrolledSteps {
  static constexpr int L = Circuit::kLocal, B = Circuit::kBorder;
  const Circuit& circuit;
  const Instants& instants;
  const DriveCondition& drive;
  CycleState& state;
  NewtonWork<L, B, N>& work;
  int count;
  CycleState& kept;  // not a member of its own: it would be filled with zeros first

  ANTIPHASE_INLINE double pass() { return newton::pass<Circuit, W>(circuit, instants, drive, state, work); }
  ANTIPHASE_INLINE double make_step() { return newton::make_step<W>(work, count); }
  ANTIPHASE_INLINE void keep() { copy_state<L, B>(state, count, kept); }
  ANTIPHASE_INLINE void back() { copy_state<L, B>(kept, count, state); }
  ANTIPHASE_INLINE void move(double share) { newton::move(work, share, count, state); }
};

/// Improves `state` until it satisfies the circuit at all instants and the drive condition. W: kLanes, or 1
/// for the single instant of the rest point.
template <class Circuit, int W, int N>
ANTIPHASE_INLINE NewtonEnd solve(const Circuit& circuit, const Instants& instants,
                                 const DriveCondition& drive, CycleState& state,
                                 NewtonWork<Circuit::kLocal, Circuit::kBorder, N>& work, int& steps) {
  const int count = W == 1 ? 1 : instants.count;
  CycleState kept;
  UnrolledSteps<Circuit, W, N> at{circuit, instants, drive, state, work, count, kept};
  return iterate(at, drive.settled_step_v, steps);
}

/// Moves `state` along the solution's tangent for a change of the drive condition's value.
/// Allowed: right after a settled solve of the same kind of condition.
template <int L, int B, int N>
void predict(const NewtonWork<L, B, N>& work, double change, int count, CycleState& state) {
  for (int b = 0; b < B; ++b) state.y[b] += work.tangent[b] * change;
  for (int r = 0; r < L; ++r)
    for (int k = 0; k < count; ++k) {
      double by = 0;
      for (int b = 0; b < B; ++b) by -= work.red[r][b][k] * work.tangent[b];
      state.x[r][k] += by * change;
    }
}

}  // namespace newton
}  // namespace antiphase
