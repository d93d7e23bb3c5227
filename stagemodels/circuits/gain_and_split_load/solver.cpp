#include "stagemodels/circuits/gain_and_split_load/solver.h"

#include "stagemodels/circuits/first_stage/solver.h"
#include "stagemodels/circuits/gain_and_split_load/circuit.h"
#include "stagemodels/circuits/split_load/solver.h"

namespace antiphase {
namespace split_load_chain {

using Solvers = first_stage::SolversAndDirect<&circuit, &split_load::start_rest, BiasForm::self_biased>;

}  // namespace split_load_chain

ANTIPHASE_COUPLED_CHAIN(split_load_chain::Solvers)
ANTIPHASE_DIRECT_CHAIN(split_load_chain::Solvers)

CycleSolver& split_load_chain::make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  return Solvers::make(d, wanted, room);
}

}  // namespace antiphase
