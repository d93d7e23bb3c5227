#include "stagemodels/circuits/long_tailed_pair/solver.h"

#include "stagemodels/circuits/long_tailed_pair/circuit.h"
#include "stagemodels/circuits/make_solver.h"

namespace antiphase {
namespace pair {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kSelf = BiasForm::self_biased, kDirect = BiasForm::direct_coupled,
               kRail = BiasForm::negative_rail;
using CoupledIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kSelf, kRail>, kInstants>;
using DirectIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kDirect>, kInstants>;
using CoupledReal = ListSolver<CycleShape<&circuit, kReal, false, kSelf, kRail>, kFineInstants>;
using DirectReal = ListSolver<CycleShape<&circuit, kReal, false, kDirect>, kFineInstants>;

}  // namespace pair

ANTIPHASE_CYCLE_SOLVER(pair::CoupledIdeal)
ANTIPHASE_CYCLE_SOLVER(pair::DirectIdeal)
ANTIPHASE_CYCLE_SOLVER(pair::CoupledReal)
ANTIPHASE_CYCLE_SOLVER(pair::DirectReal)

namespace pair {
CycleSolver* unrolled(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const bool direct = d.bias.form == BiasForm::direct_coupled;
  if (wanted.around == kIdeal) {
    const Assembly& a = assembly_of<&circuit, kIdeal, false>(d);
    return direct ? &build_solver<DirectIdeal>(a, d, &guess_alone<&start_rest>, wanted, room)
                  : &build_solver<CoupledIdeal>(a, d, &guess_alone<&start_rest>, wanted, room);
  }
  const Assembly& a = assembly_of<&circuit, kReal, false>(d);
  return direct ? &build_solver<DirectReal>(a, d, &guess_alone<&start_rest>, wanted, room)
                : &build_solver<CoupledReal>(a, d, &guess_alone<&start_rest>, wanted, room);
}

}  // namespace pair
}  // namespace antiphase
