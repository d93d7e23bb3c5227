#include "stagemodels/circuits/common_cathode/solver.h"

#include "stagemodels/circuits/common_cathode/circuit.h"
#include "stagemodels/circuits/make_solver.h"
#include "stagemodels/circuits/single_section.h"

namespace antiphase {
namespace gain_stage {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kAny = BiasForm::self_biased;
using BypassedIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kAny>, kInstants>;
using PartlyIdeal = ListSolver<CycleShape<&circuit, kIdeal, true, kAny>, kInstants>;
using BypassedReal = ListSolver<CycleShape<&circuit, kReal, false, kAny>, kFineInstants>;
using PartlyReal = ListSolver<CycleShape<&circuit, kReal, true, kAny>, kFineInstants>;

}  // namespace gain_stage

ANTIPHASE_CYCLE_SOLVER(gain_stage::BypassedIdeal)
ANTIPHASE_CYCLE_SOLVER(gain_stage::PartlyIdeal)
ANTIPHASE_CYCLE_SOLVER(gain_stage::BypassedReal)
ANTIPHASE_CYCLE_SOLVER(gain_stage::PartlyReal)

namespace gain_stage {

bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
  constexpr double kToleratedShare = 1e-9;  // of the most that could flow
  const double from_v = cold_supply_v(d), dropping = d.main_supply_v > 0 ? d.dropping_ohm : 0;
  const double outside = dropping + d.plate_ohm[0];
  const double current = rest_current_a({.section = d.section(0),
                                         .supply_v = from_v,
                                         .ohm = outside + d.cathode_ohm,
                                         .bias_ohm = d.cathode_ohm},
                                        kToleratedShare * from_v / outside);
  if (current < 0) return false;
  const Element& section = *c.section(0);
  v[c.supply] = from_v - current * dropping;
  v[section.a] = v[c.supply] - current * d.plate_ohm[0];
  v[section.c] = current * d.cathode_ohm;
  for (const Element& e : c)  // the foot of the part that no capacitor bridges
    if (e.role == Role::cathode) v[e.a] = current * e.value(d);
  return true;
}

CycleSolver* unrolled(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const bool partly = d.cathode_unbypassed_ohm > 0;
  if (wanted.around == kIdeal)
    return partly
               ? &build_solver<PartlyIdeal>(assembly_of<&circuit, kIdeal, true>(d), d, &guess, wanted, room)
               : &build_solver<BypassedIdeal>(assembly_of<&circuit, kIdeal, false>(d), d, &guess, wanted,
                                              room);
  return partly
             ? &build_solver<PartlyReal>(assembly_of<&circuit, kReal, true>(d), d, &guess, wanted, room)
             : &build_solver<BypassedReal>(assembly_of<&circuit, kReal, false>(d), d, &guess, wanted, room);
}

}  // namespace gain_stage
}  // namespace antiphase
