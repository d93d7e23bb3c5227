/// The cycle of any circuit, solved by its tape (tape.h): no code of the circuit's own, nothing to compile.
#pragma once

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/shaped_cycle.h"
#include "stagemodels/circuits/tape.h"

namespace antiphase {

/// What is prepared once for each form of a circuit and each kind of surroundings, and kept.
struct TapedForm {
  TapedForm(const Circuit& circuit, Held held)
      : assembly(circuit, held), shape(shape_of(circuit, held)), tape(make_tape(shape)) {}
  const Assembly assembly;
  const Shape shape;
  const Tape tape;
};

/// The solver of the design's circuit, in the room that is given. Keeps a reference to the design.
/// Cost: under 1 us, but for the first design of a form, whose tape is made: some 200 us, and the only time
/// that it allocates. Threads: safe.
CycleSolver& make_tape_solver(const Design&, const SolverWanted&, SolverRoom&, RestGuess);

class TapeSolver final : public ShapedCycle {
 public:
  TapeSolver(const TapedForm& form, const Design& design, RestGuess guess, int instants, bool output_grids)
      : ShapedCycle(form.shape, form.assembly, design, guess, instants, output_grids), tape_(form.tape) {}

  const Tape& tape() const { return tape_; }
  NewtonEnd solve(const Instants&, const DriveCondition&, CycleState&, int& steps) override;
  void predict(const Instants&, double change, CycleState&) const override;
  double drive_per_change() const override { return tangent_[0]; }

 private:
  static constexpr int kMostLocal = CycleState::kMostNodes, kMostBorder = CycleState::kMostStill;
  template <int W>
  struct Steps;
  struct Currents;

  NewtonEnd solve_cycle(const Instants&, const DriveCondition&, CycleState&, int& steps);
  void sweep(const Instants&, const CycleState&, int count, Currents&) const;
  void sweep_pentode(const Instants&, const CycleState&, int count, Currents&) const;
  void volts(const std::array<signed char, Shape::kMost>& per, double constant, const Instants&,
             const CycleState&, int count, double* out) const;

  const Tape& tape_;
  // As NewtonWork; only the columns that the tape gives are set.
  alignas(64) double red_[kMostLocal][kMostBorder + 1][kFineInstants];
  alignas(64) double step_[kMostLocal][kFineInstants];
  double border_[kMostBorder][kMostBorder + 2];
  double step_y_[kMostBorder], tangent_[kMostBorder];
};

}  // namespace antiphase
