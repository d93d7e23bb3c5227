/// The cycle of a gain stage and the splitter that it drives: the shapes, the choice among them, and a start
/// for the rest point.
#pragma once

#include "stagemodels/circuits/make_solver.h"

namespace antiphase::first_stage {

/// Where a splitter rests about that hangs on `from_v` through `dropping_ohm` (0: none); `grid_v`: of a
/// driven grid at a given voltage. Fills the supply and the nodes of its sections; false if no current fits.
using SplitterRest = bool (*)(const Circuit&, const Design&, double from_v, double dropping_ohm,
                              double grid_v, NodeVolts&);

/// The splitter and the first stage each alone on a supply that is known; behind a dropping resistor that
/// supply is the one at which what comes through the resistor is what they take.
bool start_rest(const Circuit&, const Design&, SplitterRest splitter, NodeVolts&);

/// kDescribe: the chain's list; kCoupled: its bias forms with a capacitor between the stages.
template <DescribeCircuit kDescribe, SplitterRest kSplitter, BiasForm... kCoupled>
struct Solvers {
  static constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
  using CoupledBypassedIdeal = ListSolver<CycleShape<kDescribe, kIdeal, false, kCoupled...>, kInstants>;
  using CoupledPartlyIdeal = ListSolver<CycleShape<kDescribe, kIdeal, true, kCoupled...>, kInstants>;
  using CoupledBypassedReal = ListSolver<CycleShape<kDescribe, kReal, false, kCoupled...>, kFineInstants>;
  using CoupledPartlyReal = ListSolver<CycleShape<kDescribe, kReal, true, kCoupled...>, kFineInstants>;

  static bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
    return start_rest(c, d, kSplitter, v);
  }

  template <bool kUnbypassed, Surroundings kAround, class Solver>
  static CycleSolver& build(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
    return build_solver<Solver>(assembly_of<kDescribe, kAround, kUnbypassed>(d), d, guess, wanted, room);
  }

  /// True if some cathode resistor has a part without a capacitor.
  static bool partly(const Design& d) {
    const Circuit& c = circuit_of(d);
    return std::any_of(c.begin(), c.end(), [&](const Element& e) {
      return e.role == Role::cathode_unbypassed && e.value(d) > 0;
    });
  }

  /// Of a design with a capacitor between the stages.
  static CycleSolver& make_coupled(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
    if (wanted.around == kIdeal)
      return partly(d) ? build<true, kIdeal, CoupledPartlyIdeal>(d, wanted, room)
                       : build<false, kIdeal, CoupledBypassedIdeal>(d, wanted, room);
    return partly(d) ? build<true, kReal, CoupledPartlyReal>(d, wanted, room)
                     : build<false, kReal, CoupledBypassedReal>(d, wanted, room);
  }
};

/// Of a splitter whose grid the first plate may hold as well.
template <DescribeCircuit kDescribe, SplitterRest kSplitter, BiasForm... kCoupled>
struct SolversAndDirect : Solvers<kDescribe, kSplitter, kCoupled...> {
  using Base = Solvers<kDescribe, kSplitter, kCoupled...>;
  static constexpr auto kIdeal = Base::kIdeal, kReal = Base::kReal;
  static constexpr auto kDirect = BiasForm::direct_coupled;
  using DirectBypassedIdeal = ListSolver<CycleShape<kDescribe, kIdeal, false, kDirect>, kInstants>;
  using DirectPartlyIdeal = ListSolver<CycleShape<kDescribe, kIdeal, true, kDirect>, kInstants>;
  using DirectBypassedReal = ListSolver<CycleShape<kDescribe, kReal, false, kDirect>, kFineInstants>;
  using DirectPartlyReal = ListSolver<CycleShape<kDescribe, kReal, true, kDirect>, kFineInstants>;

  static CycleSolver& make(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
    if (d.bias.form != kDirect) return Base::make_coupled(d, wanted, room);
    if (wanted.around == kIdeal)
      return Base::partly(d) ? Base::template build<true, kIdeal, DirectPartlyIdeal>(d, wanted, room)
                             : Base::template build<false, kIdeal, DirectBypassedIdeal>(d, wanted, room);
    return Base::partly(d) ? Base::template build<true, kReal, DirectPartlyReal>(d, wanted, room)
                           : Base::template build<false, kReal, DirectBypassedReal>(d, wanted, room);
  }
};

/// Compile the cycles of a chain. Stand once, in namespace antiphase, in the circuit's own file.
#define ANTIPHASE_COUPLED_CHAIN(Of)                \
  ANTIPHASE_CYCLE_SOLVER(Of::CoupledBypassedIdeal) \
  ANTIPHASE_CYCLE_SOLVER(Of::CoupledPartlyIdeal)   \
  ANTIPHASE_CYCLE_SOLVER(Of::CoupledBypassedReal)  \
  ANTIPHASE_CYCLE_SOLVER(Of::CoupledPartlyReal)
#define ANTIPHASE_DIRECT_CHAIN(Of)                \
  ANTIPHASE_CYCLE_SOLVER(Of::DirectBypassedIdeal) \
  ANTIPHASE_CYCLE_SOLVER(Of::DirectPartlyIdeal)   \
  ANTIPHASE_CYCLE_SOLVER(Of::DirectBypassedReal)  \
  ANTIPHASE_CYCLE_SOLVER(Of::DirectPartlyReal)

}  // namespace antiphase::first_stage
