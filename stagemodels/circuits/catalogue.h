/// The table of circuits, and what each folder says of its circuit.
#pragma once

#include <span>
#include <string_view>

#include "stagemodels/circuits/circuit.h"
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

struct CircuitEntry {
  CircuitKind kind{};           ///< filled in from the catalogue (kinds.h)
  std::string_view name{};      ///< in files; filled in as well
  std::string_view label;       ///< for people
  std::string_view says;        ///< one sentence
  Circuit (*describe)(const Form&);
  std::span<const BiasForm> bias_forms{};  ///< that a design chooses from; empty: it chooses none
  std::span<const TailForm> tail_forms{};  ///< the same
  CycleSolver& (*make_solver)(const Design&, const SolverWanted&, SolverRoom&);
  const Sizing* sizing;  ///< which wishes a designer has, and how parts follow from them
};

/// In the order of CircuitKind.
std::span<const CircuitEntry> circuits();
const CircuitEntry& circuit(CircuitKind);

/// Each defined in its circuit's own folder, in entry.cpp.
namespace entry {
#define ANTIPHASE_DECLARE_ENTRY(name) extern const CircuitEntry name;
ANTIPHASE_CIRCUITS(ANTIPHASE_DECLARE_ENTRY)
#undef ANTIPHASE_DECLARE_ENTRY
}  // namespace entry

}  // namespace antiphase
