/// One triode section with its plate resistor and a cathode resistor, bypassed wholly, partly or not.
///
/// Unknowns at each instant: plate, cathode. For the whole cycle: drive peak, the voltages of the
/// output capacitor and of the cathode bypass, the mean voltage of the grid. Real surroundings add the
/// grid at each instant and the supply for the cycle (see surroundings.h).
#pragma once

#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/solve/bordered_newton.h"

namespace antiphase {

template <Surroundings kAround>
class CommonCathode {
  static constexpr bool kReal = kAround == Surroundings::real;

 public:
  static constexpr int kLocal = kReal ? 3 : 2, kBorder = kReal ? 5 : 4, kOutputs = 1, kSections = 1;
  static constexpr bool kOutputGrids = false;  ///< it drives no output valve
  static constexpr bool kFirstStage = false;
  static constexpr int kCycle = kInstants;
  using State = CycleState<kLocal, kBorder>;
  enum { plate, cathode = kReal ? 2 : 1, grid = 1 };    // x; `grid` only if real
  enum { drive, capacitor_1, bypass, grid_1, supply };  // y; `supply` only if real
  static constexpr int kInputNode = kReal ? int{grid} : -1;

  static constexpr Pattern<kLocal, kBorder> kPattern = [] {
    Pattern<kLocal, kBorder> p{};
    p.F_x[plate][plate] = p.F_x[plate][cathode] = p.F_x[cathode][plate] = p.F_x[cathode][cathode] = true;
    p.F_y[plate][capacitor_1] = p.F_y[cathode][bypass] = true;
    p.g_x[capacitor_1][plate] = p.g_y[capacitor_1][capacitor_1] = true;
    p.g_x[bypass][plate] = p.g_x[bypass][cathode] = p.g_y[bypass][bypass] = true;
    p.g_x[grid_1][cathode] = true;
    if (kReal) {
      p.F_x[plate][grid] = true;
      p.F_x[cathode][grid] = true;
      p.F_x[grid][grid] = true;
      p.F_x[grid][cathode] = true;
      p.F_y[grid][grid_1] = p.F_y[grid][drive] = p.F_y[plate][kBorder - 1] = true;
      p.g_x[bypass][grid] = p.g_x[grid_1][grid] = true;
      p.g_x[kBorder - 1][plate] = p.g_y[kBorder - 1][kBorder - 1] = true;
    } else {
      for (int y : {int{drive}, int{grid_1}})
        p.F_y[plate][y] = p.F_y[cathode][y] = p.g_y[bypass][y] = p.g_y[grid_1][y] = true;
    }
    return p;
  }();

  /// Keeps a reference to the design. Allowed: a design within its ranges.
  explicit CommonCathode(const Design& design, bool output_grids = false);

  bool guess_rest(State& state) const;
  bool bracket_rest(State& state) const { return guess_rest(state); }  // already a bracketing

  struct Sweep {
    SectionRows section;
  };
  template <int N>
  void sweep(const Instants& instants, const State& state, Sweep& out) const;
  template <int N>
  ANTIPHASE_INLINE void local(int k, double cosine, const double (&x)[kLocal],
                              const std::array<double, kBorder>& y, const Sweep& s,
                              InstantEquations<kLocal, kBorder>& e) const;
  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, kInstants>&,
                  int& steps) const;
  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, 1>&,
                  int& steps) const;
  void at_rest(const State& state, InstantEquations<kLocal, kBorder>& e) const;
  void describe(const Instants& instants, const State& state, Waveforms& out) const;

  static double output_sign(int) { return -1; }
  const TriodeSection& section(int) const { return section_; }
  double load_siemens(int) const { return load_; }
  double input_siemens(double) const { return leak_; }
  double leak_node_v(double, double) const { return 0; }

 private:
  const Design& design_;
  TriodeSection section_;
  double plate_ = 0, load_ = 0, leak_ = 0, source_ = 0, main_ = 0;  // S; main_ 0: stiff supply
  double bare_ohm_ = 0, bypassed_ohm_ = 0;  // next to the cathode without, then with a capacitor across
};

}  // namespace antiphase
