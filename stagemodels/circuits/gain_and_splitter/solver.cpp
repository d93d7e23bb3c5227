#include "stagemodels/circuits/gain_and_splitter/solver.h"

#include "stagemodels/circuits/first_stage/solver.h"
#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"

namespace antiphase {
namespace chain {

using Solvers = first_stage::SolversAndDirect<&circuit, &pair::start_rest, BiasForm::self_biased,
                                              BiasForm::negative_rail>;

}  // namespace chain

ANTIPHASE_COUPLED_CHAIN(chain::Solvers)
ANTIPHASE_DIRECT_CHAIN(chain::Solvers)

CycleSolver& chain::make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  return Solvers::make(d, wanted, room);
}

}  // namespace antiphase
