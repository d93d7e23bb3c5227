/// Two triode sections with one cathode node: the equations of design forms and tails.
///
/// Unknowns at each instant: plate 1, plate 2, cathode (V to ground). For the whole cycle: drive
/// peak, the voltages of the two output capacitors, the mean voltages of the two grids.
/// Bias and tail are linear, so the cathode sees one conductance and one current source:
/// the leak node is eliminated by hand.
///
/// What surrounds the stage is ideal (`Surroundings::ideal`: source without resistance, stiff supply, loads
/// that are resistors) or as it is (`real`): then grid 1 is one more unknown at each instant, behind the
/// source's resistance, and the supply one more for the cycle, behind the dropping resistor; the output
/// valves' grids may draw current.
#pragma once

#include "stagemodels/circuits/pair_network.h"
#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/solve/bordered_newton.h"

namespace antiphase {

/// kCount: instants of the cycle, kInstants or kFineInstants.
template <Surroundings kAround, int kCount = kInstants>
class LongTailedPair : public PairNetwork {
  static constexpr bool kReal = kAround == Surroundings::real;

 public:
  static constexpr int kLocal = kReal ? 4 : 3, kBorder = kReal ? 6 : 5, kOutputs = 2, kSections = 2;
  static constexpr bool kOutputGrids = kReal;  ///< the load may be output valves' grids
  static constexpr bool kFirstStage = false;
  static constexpr int kCycle = kCount;
  using State = CycleState<kLocal, kBorder, kCount>;
  enum { plate_1, plate_2, cathode = kReal ? 3 : 2, grid = 2 };      // x; `grid` (of section 1) only if real
  enum { drive, capacitor_1, capacitor_2, grid_1, grid_2, supply };  // y; `supply` only if real
  /// The node that follows the source, as a row of x; -1 if grid 1 is the source itself.
  static constexpr int kInputNode = kReal ? int{grid} : -1;

  static constexpr Pattern<kLocal, kBorder> kPattern = [] {
    Pattern<kLocal, kBorder> p{};
    for (int i = 0; i < 2; ++i) {
      p.F_x[i][i] = p.F_x[i][cathode] = p.F_x[cathode][i] = true;
      p.F_y[i][capacitor_1 + i] = true;
      p.g_x[capacitor_1 + i][i] = p.g_y[capacitor_1 + i][capacitor_1 + i] = true;
      p.g_x[grid_1 + i][cathode] = true;
      p.g_y[grid_1 + i][grid_2] = true;
      if (kReal) {
        p.F_y[i][kBorder - 1] = true;
        p.g_x[kBorder - 1][i] = true;
        p.g_x[grid_1 + i][grid] = true;
      } else {
        p.g_y[grid_1 + i][grid_1] = p.g_y[grid_1 + i][drive] = true;
      }
    }
    p.F_x[cathode][cathode] = true;
    p.F_y[plate_2][grid_2] = p.F_y[cathode][grid_2] = true;
    if (kReal) {
      constexpr int g = kReal ? 2 : 0;
      p.F_x[plate_1][g] = true;
      p.F_x[cathode][g] = true;
      p.F_x[g][g] = true;
      p.F_x[g][cathode] = true;
      p.F_y[grid][grid_1] = p.F_y[grid][drive] = p.F_y[grid][grid_2] = true;
      p.g_y[grid_1][grid_1] = true;
      p.g_y[kBorder - 1][kBorder - 1] = true;
    } else {
      p.F_y[plate_1][drive] = p.F_y[plate_1][grid_1] = true;
      p.F_y[cathode][drive] = p.F_y[cathode][grid_1] = true;
    }
    return p;
  }();

  /// Keeps a reference to the design. Allowed: a design within its ranges; output_grids only if real.
  explicit LongTailedPair(const Design& design, bool output_grids = false)
      : PairNetwork(design, output_grids) {}

  /// Node voltages at rest, good enough for Newton. False if no current fits the tail.
  bool guess_rest(State& state) const;
  /// The same by nested bracketing: exact but slow.
  bool bracket_rest(State& state) const;

  struct Sweep {
    SectionRows section;
    alignas(64) Row output_grid_a, output_grid_s;  ///< as SectionRows
  };
  template <int N>
  void sweep(const Instants& instants, const State& state, Sweep& out) const;
  template <int N>
  ANTIPHASE_INLINE void local(int k, double cosine, const double (&x)[kLocal],
                              const std::array<double, kBorder>& y, const Sweep& s,
                              InstantEquations<kLocal, kBorder>& e) const;

  /// newton::solve for the cycle and for one instant.
  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, kCount>&,
                  int& steps) const;
  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, 1>&,
                  int& steps) const;
  /// The equations of the first instant.
  void at_rest(const State& state, InstantEquations<kLocal, kBorder>& e) const;

  /// Voltages and currents of every node at every instant.
  void describe(const Instants& instants, const State& state, Waveforms& out) const;
};

}  // namespace antiphase
