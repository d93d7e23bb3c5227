/// Which solver a design needs, built in the room that is given: shapes of a circuit for its surroundings and
/// forms, and the assemblies that go with them. For the circuits' own files only.
#pragma once

#include <initializer_list>
#include <new>

#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/circuits/list_solver.h"

namespace antiphase {

using DescribeCircuit = Circuit (*)(const Form&);

constexpr Held held_in(Surroundings around, bool unbypassed) {
  const bool real = around == Surroundings::real;
  return {.source = real,
          .dropping = real,
          .decoupling = real,
          .unbypassed = unbypassed,
          .first_unbypassed = unbypassed,
          .output_grids = real};
}

/// The shape that serves a circuit with each of the bias forms, on any tail.
template <DescribeCircuit kDescribe, Surroundings kAround, bool kUnbypassed, BiasForm... kBias>
struct CycleShape {
  static constexpr Shape shape = [] {
    Shape all;
    bool first = true;
    for (const BiasForm bias : {kBias...})
      for (const TailForm tail : {TailForm::resistor, TailForm::constant_current}) {
        const Shape one = shape_of(kDescribe({bias, tail}), held_in(kAround, kUnbypassed));
        all = first ? one : joint(all, one);
        first = false;
      }
    return all;
  }();
};

/// The assembly of the design's form. Made once for each form, on first use.
template <DescribeCircuit kDescribe, Surroundings kAround, bool kUnbypassed>
const Assembly& assembly_of(const Design& d) {
  constexpr int kTail = 2;
  const auto make = [](BiasForm bias, TailForm tail) {
    return Assembly(kDescribe({bias, tail}), held_in(kAround, kUnbypassed));
  };
  constexpr auto kResistor = TailForm::resistor, kSink = TailForm::constant_current;
  static const std::array<Assembly, 6> all{
      make(BiasForm::self_biased, kResistor),    make(BiasForm::self_biased, kSink),
      make(BiasForm::direct_coupled, kResistor), make(BiasForm::direct_coupled, kSink),
      make(BiasForm::negative_rail, kResistor),  make(BiasForm::negative_rail, kSink)};
  return all[static_cast<std::size_t>(static_cast<int>(d.bias.form) * kTail + static_cast<int>(d.tail.form))];
}

template <class Solver>
CycleSolver& build_solver(const Assembly& assembly, const Design& design, RestGuess guess,
                          const SolverWanted& wanted, SolverRoom& room) {
  static_assert(sizeof(Solver) <= SolverRoom::kBytes && alignof(Solver) <= alignof(SolverRoom));
  return *new (room.bytes) Solver(assembly, design, guess, wanted.instants, wanted.output_grids);
}

}  // namespace antiphase
