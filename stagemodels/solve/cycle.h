/// What a circuit says of itself so that one solver serves all: unknowns, equations at one instant, pattern.
#pragma once

#include <array>

#include "stagemodels/solve/instants.h"

namespace antiphase {

/// Code that has to end up inside a caller compiled for wide vectors. Not in builds whose every step is
/// checked: with what the checks add to the unrolled equations one file took a compiler more than six
/// minutes.
#ifdef ANTIPHASE_CHECKED
#define ANTIPHASE_INTO_CALLER
#else
#define ANTIPHASE_INTO_CALLER __attribute__((always_inline))
#endif
#define ANTIPHASE_INLINE ANTIPHASE_INTO_CALLER inline

/// The unknowns of any circuit: a row of instants for each node that is solved for, and what stands still.
struct CycleState {
  static constexpr int kMostNodes = 11, kMostStill = 13;
  alignas(64) std::array<std::array<double, kFineInstants>, kMostNodes> x;  ///< V
  std::array<double, kMostStill> y;  ///< [0] drive peak V, then what stands still over the cycle
};

/// What a solver of one circuit reads and writes of a state: the first `Nodes` rows, `Instants` of each.
template <int Nodes, int Still>
ANTIPHASE_INLINE void copy_state(const CycleState& from, int instants, CycleState& to) {
  for (int r = 0; r < Nodes; ++r)
    for (int k = 0; k < instants; ++k) to.x[r][k] = from.x[r][k];
  for (int b = 0; b < Still; ++b) to.y[b] = from.y[b];
}

/// A circuit's equations at one instant, with derivatives. Only entries that its pattern names are set.
/// F = 0 is Kirchhoff's law there (A). The mean of each g over the cycle is zero (V); g[0] is not the
/// circuit's: it is the condition that fixes the drive.
template <int L, int B>
struct InstantEquations {
  double F[L], F_x[L][L], F_y[L][B];
  double g[B], g_x[B][L], g_y[B][B];
};

/// Which derivatives may differ from zero. Known to the compiler: what is zero costs nothing.
template <int L, int B>
struct Pattern {
  bool F_x[L][L], F_y[L][B], g_x[B][L], g_y[B][B];
};

/// The pattern of F_x and F_y after the first `pivots` nodes are eliminated (Gauss-Jordan).
template <int L, int B>
constexpr Pattern<L, B> filled(Pattern<L, B> p, int pivots) {
  for (int i = 0; i < pivots; ++i)
    for (int r = 0; r < L; ++r) {
      if (r == i || !p.F_x[r][i]) continue;
      for (int c = i + 1; c < L; ++c) p.F_x[r][c] = p.F_x[r][c] || p.F_x[i][c];
      for (int b = 0; b < B; ++b) p.F_y[r][b] = p.F_y[r][b] || p.F_y[i][b];
    }
  return p;
}

/// A step this small leaves an error of its square (per volt), far below the microvolt.
inline constexpr double kSettledStep_v = 1e-5;

/// What fixes the drive: its value, the fundamental of one output, or a voltage at one instant.
struct DriveCondition {
  int output = -1;  ///< -1: y[0] = value; otherwise sign * fundamental of x[output] = value
  double sign = 1;
  double value = 0;
  double settled_step_v = kSettledStep_v;  ///< Newton's last step is smaller
  /// If not null: the sum of all x at `instant`, of the source's voltage there and of the other y, with these
  /// factors (one for each x, then one for each y), has the value, whatever `output` says.
  const signed char* per = nullptr;
  int instant = 0;
};

}  // namespace antiphase
