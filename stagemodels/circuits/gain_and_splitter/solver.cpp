#include "stagemodels/circuits/gain_and_splitter/solver.h"

#include <cmath>

#include "stagemodels/circuits/gain_and_splitter/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/solver.h"
#include "stagemodels/circuits/make_solver.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/single_section.h"
#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace chain {

constexpr auto kIdeal = Surroundings::ideal, kReal = Surroundings::real;
constexpr auto kSelf = BiasForm::self_biased, kDirect = BiasForm::direct_coupled,
               kRail = BiasForm::negative_rail;
using CoupledBypassedIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kSelf, kRail>, kInstants>;
using CoupledPartlyIdeal = ListSolver<CycleShape<&circuit, kIdeal, true, kSelf, kRail>, kInstants>;
using DirectBypassedIdeal = ListSolver<CycleShape<&circuit, kIdeal, false, kDirect>, kInstants>;
using DirectPartlyIdeal = ListSolver<CycleShape<&circuit, kIdeal, true, kDirect>, kInstants>;
using CoupledBypassedReal = ListSolver<CycleShape<&circuit, kReal, false, kSelf, kRail>, kFineInstants>;
using CoupledPartlyReal = ListSolver<CycleShape<&circuit, kReal, true, kSelf, kRail>, kFineInstants>;
using DirectBypassedReal = ListSolver<CycleShape<&circuit, kReal, false, kDirect>, kFineInstants>;
using DirectPartlyReal = ListSolver<CycleShape<&circuit, kReal, true, kDirect>, kFineInstants>;

}  // namespace chain

ANTIPHASE_CYCLE_SOLVER(chain::CoupledBypassedIdeal)
ANTIPHASE_CYCLE_SOLVER(chain::CoupledPartlyIdeal)
ANTIPHASE_CYCLE_SOLVER(chain::DirectBypassedIdeal)
ANTIPHASE_CYCLE_SOLVER(chain::DirectPartlyIdeal)
ANTIPHASE_CYCLE_SOLVER(chain::CoupledBypassedReal)
ANTIPHASE_CYCLE_SOLVER(chain::CoupledPartlyReal)
ANTIPHASE_CYCLE_SOLVER(chain::DirectBypassedReal)
ANTIPHASE_CYCLE_SOLVER(chain::DirectPartlyReal)

namespace chain {
namespace {

/// The pair and the first stage each alone on a supply that is known; behind a dropping resistor that supply
/// is the one at which what comes through the resistor is what they take.
bool guess(const Circuit& c, const Design& d, NodeVolts& v) {
  constexpr double kSupplyTolerance_v = 1e-3, kToleratedShare = 1e-3;  // Newton goes on from there
  const FirstStage& f = d.first_stage;
  const TriodeSection first = d.first_section();
  const bool direct = d.bias.form == BiasForm::direct_coupled, dropped = d.main_supply_v > 0;
  const double from_v = cold_supply_v(d), first_ohm = f.plate_ohm + f.decoupling_ohm;
  double first_a = 0;
  pair::RestStart at{};
  bool found = true;
  const auto excess_at = [&](double supply_v) {
    first_a = rest_current_a(
        {.section = first, .supply_v = supply_v, .ohm = first_ohm + f.cathode_ohm, .bias_ohm = f.cathode_ohm},
        kToleratedShare * supply_v / first_ohm);
    found = first_a >= 0 && pair::start_rest(d, supply_v, 0, direct ? supply_v - first_a * first_ohm : 0, at);
    double sum = (from_v - supply_v) / d.dropping_ohm - first_a;
    for (int i = 0; i < 2; ++i) sum -= (supply_v - at.plate_v[i]) / d.plate_ohm[i];
    return sum;
  };
  double supply_v = from_v;
  if (dropped) {
    constexpr double kLeastSupply_v = 1;
    supply_v = find_root(excess_at, std::fmin(kLeastSupply_v, 0.5 * from_v), from_v, kSupplyTolerance_v).x;
  }
  excess_at(supply_v);
  if (!found) return false;

  v[c.supply] = supply_v;
  for (int s = 0; s < 2; ++s) {
    const Element& section = *c.section(s);
    v[section.a] = at.plate_v[s];
    v[section.b] = at.grid_v;
    v[section.c] = at.cathode_v;
  }
  const Element& section = *c.section(kFirstStage);
  v[section.a] = supply_v - first_a * first_ohm;
  v[section.c] = first_a * f.cathode_ohm;
  for (const Element& e : c)  // the foot of the part that no capacitor bridges, and the first stage's supply
    if (e.role == Role::cathode)
      v[e.a] = first_a * e.value(d);
    else if (e.role == Role::decoupling)
      v[e.b] = supply_v - first_a * f.decoupling_ohm;
  return true;
}

template <bool kUnbypassed, class Coupled, class Direct, Surroundings kAround>
CycleSolver& choose(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const Assembly& a = assembly_of<&circuit, kAround, kUnbypassed>(d);
  return d.bias.form == BiasForm::direct_coupled ? build_solver<Direct>(a, d, guess, wanted, room)
                                                 : build_solver<Coupled>(a, d, guess, wanted, room);
}

}  // namespace

CycleSolver& make_solver(const Design& d, const SolverWanted& wanted, SolverRoom& room) {
  const bool partly = d.first_stage.cathode_unbypassed_ohm > 0;
  if (wanted.around == kIdeal)
    return partly ? choose<true, CoupledPartlyIdeal, DirectPartlyIdeal, kIdeal>(d, wanted, room)
                  : choose<false, CoupledBypassedIdeal, DirectBypassedIdeal, kIdeal>(d, wanted, room);
  return partly ? choose<true, CoupledPartlyReal, DirectPartlyReal, kReal>(d, wanted, room)
                : choose<false, CoupledBypassedReal, DirectBypassedReal, kReal>(d, wanted, room);
}

}  // namespace chain
}  // namespace antiphase
