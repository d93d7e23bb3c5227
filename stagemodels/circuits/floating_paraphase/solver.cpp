#include "stagemodels/circuits/floating_paraphase/solver.h"

#include "stagemodels/circuits/floating_paraphase/circuit.h"
#include "stagemodels/circuits/make_solver.h"
#include "stagemodels/circuits/paraphase/solver.h"

namespace antiphase {
namespace floating_paraphase {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kAny = BiasForm::self_biased;
using BypassedIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kAny>, kInstants>;
using PartlyIdeal = ListSolver<CycleShape<&circuit, kIdeal, true, kAny>, kInstants>;
using BypassedReal = ListSolver<CycleShape<&circuit, kReal, false, kAny>, kFineInstants>;
using PartlyReal = ListSolver<CycleShape<&circuit, kReal, true, kAny>, kFineInstants>;

}  // namespace floating_paraphase

ANTIPHASE_CYCLE_SOLVER(floating_paraphase::BypassedIdeal)
ANTIPHASE_CYCLE_SOLVER(floating_paraphase::PartlyIdeal)
ANTIPHASE_CYCLE_SOLVER(floating_paraphase::BypassedReal)
ANTIPHASE_CYCLE_SOLVER(floating_paraphase::PartlyReal)

namespace floating_paraphase {
namespace {

bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
  return paraphase::start_rest(c, d, cold_supply_v(d), d.main_supply_v > 0 ? d.dropping_ohm : 0, 0, v);
}

}  // namespace

CycleSolver& make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const bool partly = d.cathode_unbypassed_ohm > 0;
  if (wanted.around == kIdeal)
    return partly
               ? build_solver<PartlyIdeal>(assembly_of<&circuit, kIdeal, true>(d), d, guess, wanted, room)
               : build_solver<BypassedIdeal>(assembly_of<&circuit, kIdeal, false>(d), d, guess, wanted, room);
  return partly ? build_solver<PartlyReal>(assembly_of<&circuit, kReal, true>(d), d, guess, wanted, room)
                : build_solver<BypassedReal>(assembly_of<&circuit, kReal, false>(d), d, guess, wanted, room);
}

}  // namespace floating_paraphase
}  // namespace antiphase
