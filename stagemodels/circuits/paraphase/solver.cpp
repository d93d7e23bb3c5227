#include "stagemodels/circuits/paraphase/solver.h"

#include "stagemodels/circuits/make_solver.h"
#include "stagemodels/circuits/paraphase/circuit.h"
#include "stagemodels/circuits/single_section.h"

namespace antiphase {
namespace paraphase {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kAny = BiasForm::self_biased;
using BypassedIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kAny>, kInstants>;
using PartlyIdeal = ListSolver<CycleShape<&circuit, kIdeal, true, kAny>, kInstants>;
using BypassedReal = ListSolver<CycleShape<&circuit, kReal, false, kAny>, kFineInstants>;
using PartlyReal = ListSolver<CycleShape<&circuit, kReal, true, kAny>, kFineInstants>;

}  // namespace paraphase

ANTIPHASE_CYCLE_SOLVER(paraphase::BypassedIdeal)
ANTIPHASE_CYCLE_SOLVER(paraphase::PartlyIdeal)
ANTIPHASE_CYCLE_SOLVER(paraphase::BypassedReal)
ANTIPHASE_CYCLE_SOLVER(paraphase::PartlyReal)

namespace paraphase {
namespace {

bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
  return start_rest(c, d, cold_supply_v(d), d.main_supply_v > 0 ? d.dropping_ohm : 0, 0, v);
}

}  // namespace

bool start_rest(const Circuit& c, const Design& d, double from_v, double dropping_ohm, double, NodeVolts& v) {
  constexpr double kToleratedShare = 1e-6;  // of the most that could flow; Newton goes on from there
  const double at_plate = 0.5 * (d.plate_ohm[0] + d.plate_ohm[1]);
  const double outside = 2 * dropping_ohm + at_plate, bias = 2 * d.cathode_ohm;
  const double each =
      rest_current_a({.section = d.section(0), .supply_v = from_v, .ohm = outside + bias, .bias_ohm = bias},
                     kToleratedShare * from_v / outside);
  if (each < 0) return false;
  v[c.supply] = from_v - 2 * each * dropping_ohm;
  for (int i = 0; i < 2; ++i) {
    const Element& section = *c.section(i);
    v[section.a] = v[c.supply] - each * d.plate_ohm[i];
    v[section.b] = 0;
    v[section.c] = each * bias;
  }
  for (const Element& e : c)  // the foot of the part that no capacitor bridges
    if (e.role == Role::cathode && e.member == &member::cathode_ohm) v[e.a] = 2 * each * e.value(d);
  return true;
}

CycleSolver& make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const bool partly = d.cathode_unbypassed_ohm > 0;
  if (wanted.around == kIdeal)
    return partly
               ? build_solver<PartlyIdeal>(assembly_of<&circuit, kIdeal, true>(d), d, guess, wanted, room)
               : build_solver<BypassedIdeal>(assembly_of<&circuit, kIdeal, false>(d), d, guess, wanted, room);
  return partly ? build_solver<PartlyReal>(assembly_of<&circuit, kReal, true>(d), d, guess, wanted, room)
                : build_solver<BypassedReal>(assembly_of<&circuit, kReal, false>(d), d, guess, wanted, room);
}

}  // namespace paraphase
}  // namespace antiphase
