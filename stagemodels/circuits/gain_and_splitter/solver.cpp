#include "stagemodels/circuits/gain_and_splitter/solver.h"

#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"
#include "stagemodels/circuits/make_solver.h"

namespace antiphase {
namespace chain {

constexpr auto kIdeal = Surroundings::ideal;
constexpr auto kSelf = BiasForm::self_biased, kDirect = BiasForm::direct_coupled,
               kRail = BiasForm::negative_rail;
using CoupledBypassed = ListSolver<CycleShape<&circuit, kIdeal, false, kSelf, kRail>, kInstants>;
using CoupledPartly = ListSolver<CycleShape<&circuit, kIdeal, true, kSelf, kRail>, kInstants>;
using DirectBypassed = ListSolver<CycleShape<&circuit, kIdeal, false, kDirect>, kInstants>;
using DirectPartly = ListSolver<CycleShape<&circuit, kIdeal, true, kDirect>, kInstants>;

}  // namespace chain

ANTIPHASE_CYCLE_SOLVER(chain::CoupledBypassed)
ANTIPHASE_CYCLE_SOLVER(chain::CoupledPartly)
ANTIPHASE_CYCLE_SOLVER(chain::DirectBypassed)
ANTIPHASE_CYCLE_SOLVER(chain::DirectPartly)

namespace chain {
namespace {

template <bool kUnbypassed, class Coupled, class Direct>
CycleSolver* choose(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const Assembly& a = assembly_of<&circuit, kIdeal, kUnbypassed>(d);
  const RestGuess guess = &first_stage::guess<&pair::start_rest>;
  return d.bias.form == kDirect ? &build_solver<Direct>(a, d, guess, wanted, room)
                                : &build_solver<Coupled>(a, d, guess, wanted, room);
}

}  // namespace

CycleSolver* unrolled(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  if (wanted.around != kIdeal) return nullptr;
  return d.first_stage.cathode_unbypassed_ohm > 0
             ? choose<true, CoupledPartly, DirectPartly>(d, wanted, room)
             : choose<false, CoupledBypassed, DirectBypassed>(d, wanted, room);
}

}  // namespace chain
}  // namespace antiphase
