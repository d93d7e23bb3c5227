/// The cycle of a circuit solved from its list of elements: equations and derivatives unrolled by the
/// compiler for one shape (unknowns.h), numbers from the design (coefficients.h), steps by
/// solve/bordered_newton.h.
///
/// In the innermost loop the letters are those of stagemodels/README.md, "From a list to its matrix": x and y
/// the unknowns, F the currents at each instant, g what has no mean over the cycle, F_x ... g_y derivatives.
#pragma once

#include <algorithm>
#include <cassert>

#include "stagemodels/circuits/coefficients.h"
#include "stagemodels/circuits/rest_point.h"
#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/solve/bordered_newton.h"
#include "stagemodels/wide.h"

namespace antiphase {

/// Node voltages at rest, good enough for Newton's method; false if no current fits.
using RestGuess = bool (*)(const Circuit&, const Design&, NodeVolts&);

/// S: a type with `static constexpr Shape shape`. Capacity: most instants of a cycle.
template <class S, int Capacity>
class ListSolver final : public CycleSolver {
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

  /// Keeps references. Allowed: a design of the assembly's circuit and form, within its ranges;
  /// `output_grids`, the grids of the output valve that the design names, only in a shape that holds them.
  ListSolver(const Assembly& assembly, const Design& design, RestGuess guess, int instants, bool output_grids)
      : assembly_(assembly), design_(design), guess_(guess) {
    assembly.fill(design, numbers_);
    for (int t = 0; t < kSections; ++t) section_[t / 2][t % 2] = triode_section(design, kShape.number[t]);
    assert((!output_grids || kGrids > 0) && instants <= Capacity);
    if (kSections % 2 == 1) section_[kPairs - 1][1] = section_[kPairs - 1][0];
    if (output_grids && design.output_valve) output_grid_ = design.output_valve->grid;
    tell_form(instants);
  }

  NewtonEnd solve(const Instants& at, const DriveCondition& drive, CycleState& state, int& steps) override {
    return at.count == 1 ? newton::solve<ListSolver, 1>(*this, at, drive, state, work_, steps)
                         : solve_cycle(at, drive, state, steps);
  }
  void predict(const Instants& at, double change, CycleState& state) const override {
    newton::predict(work_, change, at.count, state);
  }
  void describe(const Instants&, const CycleState& state, Waveforms& out) const override;
  void linearise(const SectionCurrents& at_rest, LinearisedCycle& out) const override;
  bool start_rest(bool exactly, CycleState& rest) const override;
  double leak_foot_v(const CycleState& rest) const override;
  double leak_siemens(const std::array<double, CycleState::kMostNodes>& signal) const override;
  double load_siemens(int) const override { return 1 / design_.load_ohm; }

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

  static TriodeSection triode_section(const Design& d, int number) {
    return number == 2 ? d.first_section() : d.section(number);
  }
  /// Defined where the shape is compiled for every width of vectors (ANTIPHASE_CYCLE_SOLVER).
  NewtonEnd solve_cycle(const Instants&, const DriveCondition&, CycleState&, int& steps);

  void tell_form(int instants);

  /// Voltages that are sums of unknowns with factors of 1 and -1, and the factors.
  enum class Volts { grid_to_cathode, plate_to_cathode, output_grid, plate, grid, cathode, output, supply };
  static constexpr int factor(Volts which, int i, int unknown) {
    switch (which) {
      case Volts::grid_to_cathode:
        return kShape.grid_per[i][unknown];
      case Volts::plate_to_cathode:
        return kShape.plate_per[i][unknown];
      case Volts::output_grid:
        return kShape.output_grid_per[i][unknown];
      case Volts::plate:
        return kShape.plate_v[i][unknown];
      case Volts::grid:
        return kShape.grid_v[i][unknown];
      case Volts::cathode:
        return kShape.cathode_v[i][unknown];
      case Volts::output:
        return kShape.output_v[i][unknown];
      case Volts::supply:
        return kShape.supply_v[unknown];
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

  const Assembly& assembly_;
  const Design& design_;
  RestGuess guess_;
  Coefficients numbers_;
  GridDiode output_grid_;  // draws nothing unless an output valve is named
  std::array<std::array<TriodeSection, 2>, kPairs> section_{};
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

template <class S, int Capacity>
void ListSolver<S, Capacity>::tell_form(int instants) {
  const Circuit& c = assembly_.circuit();
  const Unknowns& u = assembly_.unknowns();
  const auto row_of = [&](int node) {
    const int column = u.column[u.root[node]];
    return column < kLocal ? column : -1;
  };
  form_.nodes = kLocal;
  form_.still = kBorder;
  form_.outputs = kShape.outputs;
  form_.instants = instants;
  form_.output_row = kShape.output_row;
  for (int o = 0; o < c.outputs; ++o) form_.sign[o] = c.output[o].sign;
  for (int t = 0; t < kSections; ++t)
    (kShape.number[t] == 2 ? form_.first_stage = true : ++form_.sections > 0);
  form_.driven_section = form_.first_stage ? 2 : 0;
  const Element& driven = *c.section(form_.driven_section);
  form_.driven_grid_row = row_of(driven.b);
  form_.driven_cathode_row = row_of(driven.c);
  if (form_.first_stage) form_.first_plate_row = row_of(driven.a);
}

template <class S, int Capacity>
void ListSolver<S, Capacity>::describe(const Instants& instants, const CycleState& state,
                                       Waveforms& out) const {
  const int n = instants.count;
  out.instants = n;
  out.drive = instants.cosine;
  alignas(64) Row supply;
  volts<1, Volts::supply, 0>(numbers_.supply_to_ground_v, instants, state, 1, supply.data());
  out.supply_v = supply[0];
  alignas(64) Row grid_a[kSections], across_v;

  newton::each<kSections>(ANTIPHASE_STEP(t) {
    constexpr int number = kShape.number[t];
    Row& plate_v = number == 2 ? out.first.plate_v : out.plate_v[number % 2];
    Row& grid_to_cathode_v = number == 2 ? out.first.grid_to_cathode_v : out.grid_to_cathode_v[number % 2];
    volts<1, Volts::plate, t>(numbers_.plate_to_ground_v[t], instants, state, n, plate_v.data());
    volts<1, Volts::grid_to_cathode, t>(numbers_.grid_v[t], instants, state, n, grid_to_cathode_v.data());
    if constexpr (number != 1)
      volts<1, Volts::cathode, t>(numbers_.cathode_to_ground_v[t], instants, state, n,
                                  (number == 2 ? out.first.cathode_v : out.cathode_v).data());
    // The grid's current by its law, unless all of the cycle is below its onset.
    const TriodeSection& section = section_[t / 2][t % 2];
    const double highest = *std::max_element(grid_to_cathode_v.begin(), grid_to_cathode_v.begin() + n);
    for (int k = 0; k < n; ++k) grid_a[t][k] = 0;
    if (!section.grid_silent_at(highest)) {
      TriodeRows rows;
      if (has_grid_current(*section.law)) {
        volts<1, Volts::plate_to_cathode, t>(numbers_.plate_v[t], instants, state, n, across_v.data());
        const double per_mu = 1 / section.spread.mu;
        for (int k = 0; k < n; ++k) across_v[k] *= per_mu;
        std::visit([&](const auto& l) { l.currents(grid_to_cathode_v.data(), across_v.data(), n, rows); },
                   *section.law);
      } else {
        for (int k = 0; k < n; ++k) rows.grid_a[k] = rows.grid_per_grid_s[k] = 0;
        section.tube->grid_diode.add(grid_to_cathode_v.data(), n, rows.grid_a.data(),
                                     rows.grid_per_grid_s.data());
      }
      for (int k = 0; k < n; ++k) grid_a[t][k] = rows.grid_a[k];
    }
    Row& grid_current_a = number == 2 ? out.first.grid_current_a : out.grid_current_a[number % 2];
    for (int k = 0; k < n; ++k) grid_current_a[k] = grid_a[t][k];
  });

  for (int o = 0; o < kShape.outputs; ++o)
    for (int k = 0; k < n; ++k) out.output_grid_a[o][k] = 0;
  newton::each<kShape.outputs>(ANTIPHASE_STEP(o) {
    volts<1, Volts::output, o>(numbers_.output_to_ground_v[o], instants, state, n, out.output_v[o].data());
    if constexpr (o < kGrids) {
      if (output_grid_.conducts()) {
        alignas(64) Row slopes;
        for (int k = 0; k < n; ++k) {
          across_v[k] = out.output_v[o][k] + design_.output_valve_bias_v;
          slopes[k] = 0;
        }
        add_grid_diode(output_grid_, across_v.data(), n, out.output_grid_a[o].data(), slopes.data());
      }
    }
  });

  // Kirchhoff's law at each plate gives its current: exact, and needs no call of the law.
  newton::each<kSections>(ANTIPHASE_STEP(t) {
    constexpr int r = kShape.plate_row[t], number = kShape.number[t];
    static_assert(r >= 0 && kShape.plate_in[t][r] == 1, "a plate has a node of its own");
    Row& plate_a = number == 2 ? out.first.plate_current_a : out.plate_current_a[number % 2];
    double still = numbers_.linear[r][kUnknowns];
    for (int b = 1; b < kBorder; ++b) still += numbers_.linear[r][kLocal + b] * state.y[b];
    for (int k = 0; k < n; ++k) {
      double a = still + numbers_.linear[r][kLocal] * state.y[0] * instants.cosine[k];
      newton::each<kLocal>(ANTIPHASE_STEP(j) {
        if constexpr (kShape.linear[r][j]) a += numbers_.linear[r][j] * state.x[j][k];
      });
      newton::each<kSections>(ANTIPHASE_STEP(s) {
        static_assert(s == t || kShape.plate_in[s][r] == 0, "two plate currents meet at a plate");
        if constexpr (kShape.grid_in[s][r] != 0) a -= kShape.grid_in[s][r] * grid_a[s][k];
      });
      newton::each<kGrids>(ANTIPHASE_STEP(g) {
        if constexpr (kShape.output_grid_in[g][r] != 0)
          a -= kShape.output_grid_in[g][r] * out.output_grid_a[g][k];
      });
      plate_a[k] = a;
    }
  });

  double top[Coefficients::kMost + 1], foot[Coefficients::kMost + 1];
  assembly_.node(numbers_, assembly_.circuit().tail_top, top);
  assembly_.node(numbers_, assembly_.circuit().tail_foot, foot);
  for (int j = 0; j <= kUnknowns; ++j) top[j] -= foot[j];
  double still = top[kUnknowns];
  for (int b = 1; b < kBorder; ++b) still += top[kLocal + b] * state.y[b];
  for (int k = 0; k < n; ++k) {
    double v = still + top[kLocal] * state.y[0] * instants.cosine[k];
    for (int j = 0; j < kLocal; ++j) v += top[j] * state.x[j][k];
    out.tail_v[k] = v;
  }
}

template <class S, int Capacity>
void ListSolver<S, Capacity>::linearise(const SectionCurrents& at_rest, LinearisedCycle& out) const {
  // The column of the drive is that of the source.
  const auto entry = [&](int r, int j) {
    double s = numbers_.linear[r][j];
    for (int t = 0; t < kSections; ++t) {
      const TriodeCurrents& now = at_rest[kShape.number[t]];
      s -= kShape.plate_in[t][r] * (kShape.grid_per[t][j] * now.plate_per_grid_s +
                                    kShape.plate_per[t][j] * now.plate_per_plate_s) +
           kShape.grid_in[t][r] * kShape.grid_per[t][j] * now.grid_per_grid_s;
    }
    return s;
  };
  out.nodes = kLocal;
  for (int r = 0; r < kLocal; ++r) {
    out.by_source[r] = entry(r, kLocal);
    for (int j = 0; j < kLocal; ++j) out.by_node[r][j] = entry(r, j);
  }
}

template <class S, int Capacity>
bool ListSolver<S, Capacity>::start_rest(bool exactly, CycleState& rest) const {
  const Circuit& c = assembly_.circuit();
  const Unknowns& u = assembly_.unknowns();
  NodeVolts v{};
  if (exactly ? !solve_rest_point(circuit_of(design_), design_, {}, v) : !guess_(c, design_, v)) return false;
  for (int n = 0; n < c.nodes; ++n)
    if (u.root[n] == n && u.column[n] >= 0 && u.column[n] < kLocal) rest.x[u.column[n]][0] = v[n];
  rest.y[0] = 0;
  for (int b = 1; b < kBorder; ++b) {
    const Element& e = c.element[u.capacitor[b]];
    rest.y[b] = v[e.a] - v[far_end(c, e)];
  }
  return true;
}

template <class S, int Capacity>
double ListSolver<S, Capacity>::leak_foot_v(const CycleState& rest) const {
  double row[Coefficients::kMost + 1];
  assembly_.node(numbers_, assembly_.circuit().leak_foot, row);
  double v = row[kUnknowns];
  for (int j = 0; j < kLocal; ++j) v += row[j] * rest.x[j][0];
  for (int b = 1; b < kBorder; ++b) v += row[kLocal + b] * rest.y[b];
  return v;
}

template <class S, int Capacity>
double ListSolver<S, Capacity>::leak_siemens(const std::array<double, CycleState::kMostNodes>& signal) const {
  const auto signal_at = [&](int node) {
    double row[Coefficients::kMost + 1];
    assembly_.node(numbers_, node, row);
    double v = row[kLocal];
    for (int j = 0; j < kLocal; ++j) v += row[j] * signal[j];
    return v;
  };
  const double on_grid = signal_at(assembly_.driven_grid());
  double taken_a = 0;
  for (const Assembly::Leak& leak : assembly_.driven_leaks())
    taken_a += (on_grid - signal_at(leak.foot)) / leak.member->value(design_);
  return taken_a / on_grid;
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
