#include "stagemodels/circuits/catalogue.h"

#include <array>
#include <atomic>

#include "stagemodels/circuits/made_once.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/tape_solver.h"

namespace antiphase {
namespace {

constexpr std::size_t kKinds = kCircuitKinds;

const std::array<CircuitEntry, kKinds>& catalogue() {
  static const auto all = [] {
    std::array<CircuitEntry, kKinds> made{};
    std::size_t n = 0;
    const auto add = [&](std::string_view name, const CircuitEntry& entry) {
      made[n] = entry;
      made[n].name = name;
      made[n].kind = static_cast<CircuitKind>(n);
      ++n;
    };
#define ANTIPHASE_ADD(name) add(#name, entry::name);
    ANTIPHASE_CIRCUITS(ANTIPHASE_ADD)
#undef ANTIPHASE_ADD
    return made;
  }();
  return all;
}

/// Of a form of the circuit: what all its forms have in common.
const Circuit& any_form(CircuitKind kind) {
  Design d;
  d.circuit = kind;
  return circuit_of(d);
}

}  // namespace

const Circuit& circuit_of(CircuitKind kind, int form_number) {
  static std::atomic<const Circuit*> known[kKinds][kForms];
  std::atomic<const Circuit*>& place = known[static_cast<std::size_t>(kind)][form_number];
  return made_once(place, [&] { return circuit(kind).describe(form_of_number(form_number)); });
}

const Circuit& circuit_of(const Design& d) {
  return circuit_of(d.circuit, form_number(form_of(d)));
}

std::span<const CircuitEntry> circuits() {
  return catalogue();
}

const CircuitEntry& circuit(CircuitKind kind) {
  return catalogue()[static_cast<std::size_t>(kind)];
}

CycleSolver& make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const CircuitEntry& entry = circuit(d.circuit);
  const bool common = !has_driver(d) && d.first_stage.form == GainForm::triode;  // what the compiler unrolls
  CycleSolver* const unrolled = entry.unrolled && common ? entry.unrolled(d, wanted, room) : nullptr;
  return unrolled ? *unrolled : make_tape_solver(d, wanted, room, entry.guess);
}

const Sizing& sizing_of(CircuitKind kind) {
  return *circuit(kind).sizing;
}

int sections(CircuitKind kind) {
  static const auto counts = [] {
    std::array<int, kKinds> n{};
    for (std::size_t k = 0; k < n.size(); ++k)
      n[k] = any_form(static_cast<CircuitKind>(k)).section(1) ? 2 : 1;
    return n;
  }();
  return counts[static_cast<std::size_t>(kind)];
}

int outputs(CircuitKind kind) {
  return any_form(kind).outputs;
}

bool has_first_stage(CircuitKind kind) {
  static const auto has = [] {
    std::array<bool, kKinds> n{};
    for (std::size_t k = 0; k < n.size(); ++k)
      n[k] = any_form(static_cast<CircuitKind>(k)).section(kFirstStage) != nullptr;
    return n;
  }();
  return has[static_cast<std::size_t>(kind)];
}

bool grids_given(const Design& d) {
  for (const Element& e : circuit_of(d))
    if (e.kind == ElementKind::driven) return e.member != nullptr;
  return false;
}

}  // namespace antiphase
