/// The cycle of a circuit solved from its list of elements: equations and derivatives unrolled by the
/// compiler for one shape (unknowns.h), numbers from the design (coefficients.h), steps by
/// solve/bordered_newton.h.
///
/// In the innermost loop the letters are those of stagemodels/README.md, "From a list to its matrix": x and y
/// the unknowns, F the currents at each instant, g what has no mean over the cycle, F_x ... g_y derivatives.
#pragma once

#include <cassert>

#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/circuits/shaped_cycle.h"
#include "stagemodels/solve/bordered_newton.h"
#include "stagemodels/wide.h"

namespace antiphase {

/// S: a type with `static constexpr Shape shape`. Capacity: most instants of a cycle.
template <class S, int Capacity>
class ListSolver final : public ShapedCycle {
 public:
  static constexpr Shape kShape = S::shape;
  static constexpr int kLocal = kShape.locals, kBorder = kShape.still, kUnknowns = kShape.unknowns();
  static_assert(kLocal <= CycleState::kMostNodes && kBorder <= CycleState::kMostStill &&
                kUnknowns <= Coefficients::kMost);
  static constexpr Pattern<kLocal, kBorder> kPattern = [] {
    Pattern<kLocal, kBorder> p{};
    for (int r = 0; r < kUnknowns; ++r)
      for (int j = 0; j < kUnknowns; ++j) {
        const bool there = kShape.linear[r][j] || kShape.tube(r, j);
        if (r < kLocal)
          (j < kLocal ? p.F_x[r][j] : p.F_y[r][j - kLocal]) = there;
        else if (r > kLocal)  // the row of the drive is the drive condition
          (j < kLocal ? p.g_x[r - kLocal][j] : p.g_y[r - kLocal][j - kLocal]) = there;
      }
    return p;
  }();

  /// As ShapedCycle.
  ListSolver(const Assembly& assembly, const Design& design, RestGuess guess, int instants, bool output_grids)
      : ShapedCycle(kShape, assembly, design, guess, instants, output_grids) {
    assert(instants <= Capacity);
  }

  NewtonEnd solve(const Instants& at, const DriveCondition& drive, CycleState& state, int& steps) override {
    return at.count == 1 ? newton::solve<ListSolver, 1>(*this, at, drive, state, work_, steps)
                         : solve_cycle(at, drive, state, steps);
  }
  void predict(const Instants& at, double change, CycleState& state) const override {
    newton::predict(work_, change, at.count, state);
  }
  double drive_per_change() const override { return work_.tangent[0]; }

  struct Sweep {
    SectionRows at[(kShape.sections + 1) / 2];
    alignas(64) Row output_grid_a, output_grid_s;
    double still[kUnknowns];  ///< of each row: what does not change over the cycle
    int count;
  };
  /// Currents of all tubes at all instants. W: how many instants stand side by side.
  template <int W>
  ANTIPHASE_INLINE void sweep(const Instants& instants, const CycleState& state, Sweep& out) const;
  /// Equations and derivatives at instant k.
  ANTIPHASE_INLINE void local(int k, double cosine, const double (&x)[kLocal],
                              const std::array<double, CycleState::kMostStill>& y, const Sweep& currents,
                              InstantEquations<kLocal, kBorder>& e) const;

 private:
  static constexpr int kSections = kShape.sections, kPairs = (kSections + 1) / 2, kGrids = kShape.grids;
  static constexpr int kTerms = kShape.terms();

  /// Defined where the shape is compiled for every width of vectors (ANTIPHASE_CYCLE_SOLVER).
  NewtonEnd solve_cycle(const Instants&, const DriveCondition&, CycleState&, int& steps);

  /// Voltages that are sums of unknowns with factors of 1 and -1, and the factors.
  enum class Volts { grid_to_cathode, plate_to_cathode, output_grid };
  static constexpr int factor(Volts which, int i, int unknown) {
    switch (which) {
      case Volts::grid_to_cathode:
        return kShape.grid_per[i][unknown];
      case Volts::plate_to_cathode:
        return kShape.plate_per[i][unknown];
      case Volts::output_grid:
        return kShape.output_grid_per[i][unknown];
    }
    return 0;
  }
  /// Such a voltage at all instants; W of them stand side by side.
  template <int W, Volts which, int i>
  ANTIPHASE_INLINE void volts(double constant, const Instants& instants, const CycleState& state, int count,
                              double* out) const {
    newton::each<kBorder>(ANTIPHASE_STEP(b) {
      constexpr int by = factor(which, i, kLocal + b);
      if constexpr (b > 0 && by != 0) constant += by * state.y[b];
    });
    const double drive = state.y[0];
    for (int first = 0; first < count; first += W)
      for (int lane = 0; lane < W; ++lane) {
        const int k = first + lane;
        double v = constant;
        newton::each<kLocal>(ANTIPHASE_STEP(j) {
          constexpr int by = factor(which, i, j);
          if constexpr (by != 0) v += by * state.x[j][k];
        });
        constexpr int by_drive = factor(which, i, kLocal);
        if constexpr (by_drive != 0) v += by_drive * drive * instants.cosine[k];
        out[k] = v;
      }
  }

  template <int q>
  ANTIPHASE_INLINE double slope(const Sweep& w, int k) const {
    if constexpr (q >= 3 * kSections) {
      return w.output_grid_s[(q - 3 * kSections) * w.count + k];
    } else {
      constexpr int t = q / 3;
      const TriodeRows& rows = w.at[t / 2].rows;
      const int n = t % 2 * w.count + k;
      if constexpr (q % 3 == 0)
        return rows.plate_per_grid_s[n];
      else if constexpr (q % 3 == 1)
        return rows.plate_per_plate_s[n];
      else
        return rows.grid_per_grid_s[n];
    }
  }

  NewtonWork<kLocal, kBorder, Capacity> work_;
};

template <class S, int Capacity>
template <int W>
ANTIPHASE_INLINE void ListSolver<S, Capacity>::sweep(const Instants& instants, const CycleState& state,
                                                     Sweep& out) const {
  const int n = W == 1 ? 1 : instants.count;
  out.count = n;
  newton::each<kUnknowns>(ANTIPHASE_STEP(r) {
    if constexpr (r != kLocal) {
      double sum = numbers_.linear[r][kUnknowns];
      newton::each<kBorder>(ANTIPHASE_STEP(b) {
        if constexpr (b > 0 && kShape.linear[r][kLocal + b])
          sum += numbers_.linear[r][kLocal + b] * state.y[b];
      });
      out.still[r] = sum;
    }
  });
  newton::each<kSections>(ANTIPHASE_STEP(t) {
    volts<W, Volts::grid_to_cathode, t>(numbers_.grid_v[t], instants, state, n,
                                        &out.at[t / 2].grid_v[t % 2 * n]);
    volts<W, Volts::plate_to_cathode, t>(numbers_.plate_v[t], instants, state, n,
                                         &out.at[t / 2].plate_v[t % 2 * n]);
  });
  newton::each<kPairs>(
      ANTIPHASE_STEP(q) { sweep_sections<(2 * q + 1 < kSections ? 2 : 1)>(section_[q], n, out.at[q]); });
  if constexpr (kGrids > 0) {
    for (int k = 0; k < kGrids * n; ++k) out.output_grid_a[k] = out.output_grid_s[k] = 0;
    if (output_grid_.conducts()) {
      alignas(64) Row v;
      newton::each<kGrids>(ANTIPHASE_STEP(g) {
        volts<W, Volts::output_grid, g>(numbers_.output_grid_v[g], instants, state, n, &v[g * n]);
      });
      add_grid_diode(output_grid_, v.data(), kGrids * n, out.output_grid_a.data(), out.output_grid_s.data());
    }
  }
}

template <class S, int Capacity>
ANTIPHASE_INLINE void ListSolver<S, Capacity>::local(int k, double cosine, const double (&x)[kLocal],
                                                     const std::array<double, CycleState::kMostStill>& y,
                                                     const Sweep& w,
                                                     InstantEquations<kLocal, kBorder>& e) const {
  const double source = y[0] * cosine;
  newton::each<kUnknowns>(ANTIPHASE_STEP(r) {
    if constexpr (r != kLocal) {
      constexpr bool kNode = r < kLocal;
      const double scale = kNode ? 1.0 : numbers_.scale[r];
      // F or g: what comes through resistors and sinks, less what the tubes take,
      //   f = still + sum of linear(r, j) x(j) + linear(r, source) s - scale (plate and grid currents).
      double f = w.still[r];
      newton::each<kLocal>(ANTIPHASE_STEP(j) {
        if constexpr (kShape.linear[r][j]) f += numbers_.linear[r][j] * x[j];
      });
      if constexpr (kShape.linear[r][kLocal]) f += numbers_.linear[r][kLocal] * source;
      const auto takes = [&](int sign, double a) ANTIPHASE_INTO_CALLER {
        if (!kNode) a *= scale;
        sign > 0 ? f -= a : f += a;
      };
      newton::each<kSections>(ANTIPHASE_STEP(t) {
        constexpr int plate = kShape.plate_in[t][r], grid = kShape.grid_in[t][r];
        const TriodeRows& rows = w.at[t / 2].rows;
        const int n = t % 2 * w.count + k;
        if constexpr (plate != 0 && plate == grid) {
          takes(plate, rows.plate_a[n] + rows.grid_a[n]);
        } else {
          if constexpr (plate != 0) takes(plate, rows.plate_a[n]);
          if constexpr (grid != 0) takes(grid, rows.grid_a[n]);
        }
      });
      newton::each<kGrids>(ANTIPHASE_STEP(g) {
        constexpr int sign = kShape.output_grid_in[g][r];
        if constexpr (sign != 0) takes(sign, w.output_grid_a[g * w.count + k]);
      });
      if constexpr (kNode)
        e.F[r] = f;
      else
        e.g[r - kLocal] = f;
      // The derivative of F or g by unknown j: the linear coefficient, and +-gm, +-gp, +-gg of the sections
      // whose voltages hang on j; that by y0 times the cosine.
      newton::each<kUnknowns>(ANTIPHASE_STEP(j) {
        if constexpr (kShape.linear[r][j] || kShape.tube(r, j)) {
          double v = 0;
          newton::each<kTerms>(ANTIPHASE_STEP(q) {
            constexpr int sign = kShape.term(r, j, q);
            if constexpr (sign != 0) {
              const double term = slope<q>(w, k);
              if constexpr (kShape.terms_before(r, j, q) == 0)  // not added to zero, which would cost time
                v = sign > 0 ? term : -term;
              else
                v = sign > 0 ? v + term : v - term;
            }
          });
          if constexpr (!kNode && kShape.tube(r, j)) v *= scale;
          if constexpr (kShape.linear[r][j]) {
            if constexpr (kShape.tube(r, j))
              v += numbers_.linear[r][j];
            else
              v = numbers_.linear[r][j];
          }
          if constexpr (j == kLocal) v *= cosine;
          if constexpr (kNode && j < kLocal)
            e.F_x[r][j] = v;
          else if constexpr (kNode)
            e.F_y[r][j - kLocal] = v;
          else if constexpr (j < kLocal)
            e.g_x[r - kLocal][j] = v;
          else
            e.g_y[r - kLocal][j - kLocal] = v;
        }
      });
    }
  });
}

/// Compiles the cycle of a shape for every width of vectors. Stands once, in namespace antiphase, in the
/// circuit's own file.
#define ANTIPHASE_CYCLE_SOLVER(Solver)                                                          \
  template <>                                                                                   \
  ANTIPHASE_WIDE NewtonEnd Solver::solve_cycle(const Instants& at, const DriveCondition& drive, \
                                               CycleState& state, int& steps) {                 \
    return newton::solve<Solver, newton::kLanes>(*this, at, drive, state, work_, steps);        \
  }

}  // namespace antiphase
