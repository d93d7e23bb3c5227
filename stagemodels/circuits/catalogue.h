/// The table of circuits, and what each folder says of its circuit.
#pragma once

#include <span>
#include <string_view>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/circuits/picture.h"
#include "stagemodels/circuits/rest_guess.h"
#include "stagemodels/circuits/surroundings.h"
#include "stagemodels/sizing.h"
#include "stagemodels/solve/cycle_solver.h"

namespace antiphase {

/// Which of a circuit's solvers is wanted.
struct SolverWanted {
  Surroundings around = Surroundings::ideal;
  int instants = kInstants;   ///< of a cycle: kInstants or kFineInstants
  bool output_grids = false;  ///< those of the output valve that the design names; only in real surroundings
};

/// A circuit of several stages taken apart where one hands over to the next, for bounds at rest (theory:
/// stagemodels/README.md, "Bounds over a block of parts").
struct StagesApart {
  /// The first stage as a circuit of its own, which at rest it is but for what is drawn from its plate.
  Design (*first)(const Design&);
  /// The output stage as a circuit of its own. `first_plate_v`: of the stage before; counts if its grids hang
  /// there.
  Design (*output)(const Design&, double first_plate_v);
};

struct CircuitEntry {
  CircuitKind kind{};            ///< filled in from the catalogue (kinds.h)
  std::string_view name{};       ///< in files; filled in as well
  std::string_view label;        ///< for people
  std::string_view description;  ///< one sentence
  Circuit (*describe)(const Form&);
  Picture (*picture)(const Form&);         ///< where the elements stand in its drawing
  std::span<const BiasForm> bias_forms{};  ///< that a design chooses from; empty: it chooses none
  std::span<const TailForm> tail_forms{};  ///< the same
  RestGuess guess;                         ///< a start for the rest point
  /// The cycle unrolled by the compiler; null, or a null answer: nothing is, and the circuit's tape serves.
  CycleSolver* (*unrolled)(const Design&, const SolverWanted&, SolverRoom&) = nullptr;
  const Sizing* sizing;                ///< which sizing inputs a designer has, and how parts follow from them
  const StagesApart* apart = nullptr;  ///< null: one stage
};

/// In the order of CircuitKind.
std::span<const CircuitEntry> circuits();
const CircuitEntry& circuit(CircuitKind);

#define ANTIPHASE_ONE(name) +1
inline constexpr int kCircuitKinds = 0 ANTIPHASE_CIRCUITS(ANTIPHASE_ONE);
#undef ANTIPHASE_ONE

/// The solver of the design's circuit, unrolled if there is one, in the room that is given. Keeps a reference
/// to the design. Cost: under 1 us, but for the first design of a form (tape_solver.h). Threads: safe.
CycleSolver& make_solver(const Design&, const SolverWanted&, SolverRoom&);

/// Lists of one circuit, one for each choice of forms, and the place of a form among them.
inline constexpr int kBiasChoices = 3, kTailChoices = 2, kFeedbackChoices = 2, kDriverChoices = 3,
                     kGainChoices = 7,
                     kFormsAlone =
                         kBiasChoices * kTailChoices * kFeedbackChoices,  ///< of a triode and no driver
    kAround = kDriverChoices * kGainChoices, kForms = kFormsAlone * kAround;
constexpr int form_number(const Form& f) {
  const int bias_and_tail = static_cast<int>(f.bias) * kTailChoices + static_cast<int>(f.tail);
  const int alone = bias_and_tail * kFeedbackChoices + (f.feedback ? 1 : 0);
  return alone * kAround + static_cast<int>(f.driver) * kGainChoices + static_cast<int>(f.gain);
}
constexpr Form form_of_number(int n) {
  const int alone = n / kAround, bias_and_tail = alone / kFeedbackChoices;
  return {static_cast<BiasForm>(bias_and_tail / kTailChoices),
          static_cast<TailForm>(bias_and_tail % kTailChoices), alone % kFeedbackChoices == 1,
          static_cast<DriverForm>(n % kAround / kGainChoices), static_cast<GainForm>(n % kGainChoices)};
}
/// The list at a form's place, made when it is first asked for. Cost: a table look-up. Threads: safe.
const Circuit& circuit_of(CircuitKind, int form_number);

/// Each defined in its circuit's own folder, in entry.cpp.
namespace entry {
#define ANTIPHASE_DECLARE_ENTRY(name) extern const CircuitEntry name;
ANTIPHASE_CIRCUITS(ANTIPHASE_DECLARE_ENTRY)
#undef ANTIPHASE_DECLARE_ENTRY
}  // namespace entry

}  // namespace antiphase
