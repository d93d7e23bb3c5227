#include "stagemodels/circuits/split_load/solver.h"

#include "stagemodels/circuits/make_solver.h"
#include "stagemodels/circuits/single_section.h"
#include "stagemodels/circuits/split_load/circuit.h"

namespace antiphase {
namespace split_load {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kSelf = BiasForm::self_biased, kDirect = BiasForm::direct_coupled;
using CoupledIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kSelf>, kInstants>;
using DirectIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kDirect>, kInstants>;
using CoupledReal = ListSolver<CycleShape<&circuit, kReal, false, kSelf>, kFineInstants>;
using DirectReal = ListSolver<CycleShape<&circuit, kReal, false, kDirect>, kFineInstants>;

}  // namespace split_load

ANTIPHASE_CYCLE_SOLVER(split_load::CoupledIdeal)
ANTIPHASE_CYCLE_SOLVER(split_load::DirectIdeal)
ANTIPHASE_CYCLE_SOLVER(split_load::CoupledReal)
ANTIPHASE_CYCLE_SOLVER(split_load::DirectReal)

namespace split_load {
bool start_rest(const Circuit& c, const Design& d, double from_v, double dropping_ohm, double grid_v,
                NodeVolts& v) {
  constexpr double kToleratedShare = 1e-6;  // of the most that could flow; Newton goes on from there
  const bool direct = d.bias.form == BiasForm::direct_coupled;
  const double at_plate = d.plate_ohm[0], load = d.plate_ohm[1], bias = direct ? 0 : d.bias.ohm;
  const double all = dropping_ohm + at_plate + load + bias;
  // The grid stands at a given voltage against ground, or at the upper end of the cathode load.
  const SingleSection series{.section = d.section(0),
                             .supply_v = from_v,
                             .ohm = all,
                             .grid_v = direct ? grid_v : 0,
                             .bias_ohm = direct ? load : bias};
  const double current = rest_current_a(series, kToleratedShare * from_v / all);
  if (current < 0) return false;
  const Element& section = *c.section(0);
  v[c.supply] = from_v - current * dropping_ohm;
  v[section.a] = v[c.supply] - current * at_plate;
  v[c.tail_top] = current * load;
  v[section.c] = current * (load + bias);
  v[section.b] = direct ? grid_v : v[c.tail_top];
  return true;
}

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

}  // namespace split_load
}  // namespace antiphase
