/// What two solvers of a circuit's cycle share: all that is said of a state once it is known. They differ in
/// how the steps are made: unrolled by the compiler for one shape (list_solver.h), or from a list of
/// operations that is made for any circuit when it is first asked for (tape_solver.h).
#pragma once

#include "stagemodels/circuits/coefficients.h"
#include "stagemodels/circuits/rest_guess.h"
#include "stagemodels/solve/cycle_solver.h"

namespace antiphase {

class ShapedCycle : public CycleSolver {
 public:
  DriveCondition grid_to_cathode_at(int section, int instant, double wanted_v) const override;
  void describe(const Instants&, const CycleState& state, Waveforms& out) const override;
  void describe_sections(const Instants&, const CycleState& state, Waveforms& out) const override;
  void linearise(const SectionCurrents& at_rest, LinearisedCycle& out) const override;
  bool start_rest(bool exactly, CycleState& rest) const override;
  double leak_foot_v(const CycleState& rest) const override;
  double leak_siemens(const std::array<double, CycleState::kMostNodes>& signal) const override;
  double load_siemens(int) const override { return 1 / design_.load_ohm; }

 protected:
  static constexpr int kMostPairs = (Shape::kSections + 1) / 2;

  /// Keeps references. Allowed: a design of the assembly's circuit and form, within its ranges, whose shape
  /// is this one; `output_grids`, the grids of the output valve that the design names, only in a shape that
  /// holds them.
  ShapedCycle(const Shape&, const Assembly&, const Design&, RestGuess, int instants, bool output_grids);
  ~ShapedCycle() = default;

  const Shape& shape_;
  const Assembly& assembly_;
  const Design& design_;
  Coefficients numbers_;
  GridDiode output_grid_;  ///< draws nothing unless an output valve is named
  std::array<std::array<TriodeSection, 2>, kMostPairs> section_{};  ///< in the order of the shape

 private:
  using Factors = std::array<signed char, Shape::kMost>;

  void tell_form(int instants);
  const TriodeSection& section(int t) const { return section_[t / 2][t % 2]; }
  /// A voltage that is a sum of unknowns with factors of 1 and -1, at the first `count` instants.
  void volts(const Factors& per, double constant, const Instants&, const CycleState&, int count,
             Row& out) const;
  void describe_voltages(const Instants&, const CycleState&, Waveforms& out) const;
  /// The grid's current by its law, unless all of the cycle is below its onset.
  void grid_current(int t, const Instants&, const CycleState&, const Row& grid_to_cathode_v, Row& out) const;
  void output_grid_currents(const Instants&, const CycleState&, Waveforms& out) const;
  /// Kirchhoff's law at a plate, or at a cathode whose plate is held, gives its current: exact, and needs no
  /// call of the law.
  void plate_current(int t, const Instants&, const CycleState&, Waveforms& out) const;
  void describe_screen(const Instants&, const CycleState&, Waveforms& out) const;
  void describe_tail(const Instants&, const CycleState&, Waveforms& out) const;
  /// What a first stage takes from its supply: the sum over all that hangs there.
  void describe_first_stage(const Instants&, const CycleState&, Waveforms& out) const;
  /// The voltage between two nodes at each instant.
  void across(Node a, Node b, const Instants&, const CycleState&, Row& out) const;

  RestGuess guess_;
};

}  // namespace antiphase
