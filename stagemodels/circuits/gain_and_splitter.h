/// A common-cathode gain stage and the long-tailed pair that it drives, as one circuit.
///
/// Unknowns at each instant: plates 1 and 2 and the cathode of the pair, plate and cathode of the first
/// stage (V to ground). For the whole cycle: drive peak, the voltages of the two output capacitors and of the
/// capacitor between the stages (0 if they are directly coupled), the mean voltage of grid 2, the first
/// cathode bypass, the mean voltage of the first grid. Grid 1 of the pair is the first plate less the
/// capacitor between. Real surroundings add the first grid at each instant and the supply for the cycle
/// (surroundings.h).
#pragma once

#include "stagemodels/circuits/pair_network.h"
#include "stagemodels/circuits/section_rows.h"
#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/solve/bordered_newton.h"

namespace antiphase {

/// kCount: instants of the cycle, kInstants or kFineInstants.
template <Surroundings kAround, int kCount = kInstants>
class GainAndSplitter : public PairNetwork {
  static constexpr bool kReal = kAround == Surroundings::real;

 public:
  static constexpr int kLocal = kReal ? 6 : 5, kBorder = kReal ? 8 : 7, kOutputs = 2, kSections = 2;
  static constexpr bool kOutputGrids = kReal;  ///< the load may be output valves' grids
  static constexpr bool kFirstStage = true;
  static constexpr int kCycle = kCount;
  using State = CycleState<kLocal, kBorder, kCount>;
  /// x. `grid` and `cathode` are those of the driven section, the first stage's; `grid` only if real.
  enum { plate_1, plate_2, pair_cathode, first_plate, grid, cathode = kReal ? 5 : 4 };
  /// y. `grid_1` is the driven grid; `supply` only if real.
  enum { drive, capacitor_1, capacitor_2, between, grid_2, bypass, grid_1, supply };
  static constexpr int kInputNode = kReal ? int{grid} : -1;

  static constexpr Pattern<kLocal, kBorder> kPattern = [] {
    Pattern<kLocal, kBorder> p{};
    for (int i = 0; i < 2; ++i) {
      p.F_x[i][i] = p.F_x[i][pair_cathode] = p.F_x[pair_cathode][i] = true;
      p.F_y[i][capacitor_1 + i] = true;
      p.g_x[capacitor_1 + i][i] = p.g_y[capacitor_1 + i][capacitor_1 + i] = true;
    }
    p.F_x[pair_cathode][pair_cathode] = true;
    for (int r : {int{plate_1}, int{pair_cathode}, int{first_plate}})
      p.F_x[r][first_plate] = p.F_y[r][between] = true;
    for (int r : {int{plate_2}, int{pair_cathode}, int{first_plate}}) p.F_y[r][grid_2] = true;
    p.F_x[first_plate][pair_cathode] = true;
    for (int g : {int{between}, int{grid_2}})
      p.g_x[g][first_plate] = p.g_x[g][pair_cathode] = p.g_y[g][between] = p.g_y[g][grid_2] = true;

    p.F_x[first_plate][cathode] = p.F_x[cathode][first_plate] = p.F_x[cathode][cathode] = true;
    p.F_y[cathode][bypass] = true;
    p.g_x[bypass][first_plate] = p.g_x[bypass][cathode] = p.g_y[bypass][bypass] = true;
    p.g_x[grid_1][cathode] = true;
    if (kReal) {
      constexpr int g = kReal ? 4 : 0, s = kBorder - 1;
      for (int r : {int{first_plate}, int{cathode}, g}) p.F_x[r][g] = true;
      p.F_x[g][cathode] = true;
      p.F_y[g][grid_1] = p.F_y[g][drive] = true;
      p.g_x[bypass][g] = p.g_x[grid_1][g] = true;
      for (int r : {int{plate_1}, int{plate_2}, int{first_plate}}) p.F_y[r][s] = p.g_x[s][r] = true;
      p.g_y[s][s] = true;
    } else {
      for (int y : {int{drive}, int{grid_1}})
        p.F_y[first_plate][y] = p.F_y[cathode][y] = p.g_y[bypass][y] = p.g_y[grid_1][y] = true;
    }
    return p;
  }();

  /// Keeps a reference to the design. Allowed: a design within its ranges; output_grids only if real.
  explicit GainAndSplitter(const Design& design, bool output_grids = false);

  /// Node voltages at rest, good enough for Newton. False if no current fits.
  bool guess_rest(State& state) const { return rest_from(state, false); }
  /// The same with the pair by nested bracketing: exact but slow.
  bool bracket_rest(State& state) const { return rest_from(state, true); }

  struct Sweep {
    SectionRows section, first;
    alignas(64) Row output_grid_a, output_grid_s;  ///< as SectionRows
  };
  template <int N>
  void sweep(const Instants& instants, const State& state, Sweep& out) const;
  template <int N>
  ANTIPHASE_INLINE void local(int k, double cosine, const double (&x)[kLocal],
                              const std::array<double, kBorder>& y, const Sweep& s,
                              InstantEquations<kLocal, kBorder>& e) const;

  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, kCount>&,
                  int& steps) const;
  NewtonEnd solve(const Instants&, const DriveCondition&, State&, NewtonWork<kLocal, kBorder, 1>&,
                  int& steps) const;
  void at_rest(const State& state, InstantEquations<kLocal, kBorder>& e) const;
  void describe(const Instants& instants, const State& state, Waveforms& out) const;

  /// The first stage turns the phase once more.
  static double output_sign(int output) { return output == 0 ? 1 : -1; }
  double input_siemens(double) const { return first_leak_; }

 private:
  bool rest_from(State& state, bool bracket) const;
  double first_rest_a(double supply_v, double tolerated_share) const;
  double driven_grid_v(const State& state, double cosine, int k) const {
    if constexpr (kReal)
      return state.x[grid][k];
    else
      return state.y[grid_1] + state.y[drive] * cosine;
  }

  TriodeSection first_;
  bool direct_ = false;
  double direct_share_ = 0;                  // 1 if direct_
  double first_plate_ = 0, first_leak_ = 0;  // S
  double bare_ohm_ = 0, bypassed_ohm_ = 0;  // next to the first cathode without, then with a capacitor across
};

}  // namespace antiphase
