#include <cmath>

#include "stagemodels/circuits/first_stage/rest.h"
#include "stagemodels/circuits/places.h"
#include "stagemodels/circuits/single_section.h"
#include "stagemodels/solve/scalar_root.h"

namespace antiphase::first_stage {
namespace {

/// What the splitter takes from its supply: its plate resistors hang there, the first stage's on a node of
/// its own.
double splitter_a(const Circuit& c, const Design& d, const NodeVolts& v) {
  double sum = 0;
  for (const Element& e : c)
    if (e.role == Role::plate_load && e.a == c.supply) sum += (v[e.a] - v[e.b]) / e.value(d);
  return sum;
}

}  // namespace

bool start_rest(const Circuit& c, const Design& d, SplitterRest splitter, NodeVolts& v) {
  constexpr double kSupplyTolerance_v = 1e-3, kToleratedShare = 1e-3;  // Newton goes on from there
  const FirstStage& f = d.first_stage;
  const TriodeSection first = d.first_section();
  const double from_v = cold_supply_v(d), first_ohm = f.plate_ohm + f.decoupling_ohm;
  double first_a = 0;
  bool found = true;
  const auto excess_at = [&](double supply_v) {
    first_a = rest_current_a(
        {.section = first, .supply_v = supply_v, .ohm = first_ohm + f.cathode_ohm, .bias_ohm = f.cathode_ohm},
        kToleratedShare * supply_v / first_ohm);
    found = first_a >= 0 && splitter(c, d, supply_v, 0, supply_v - first_a * first_ohm, v);
    return (from_v - supply_v) / d.dropping_ohm - first_a - splitter_a(c, d, v);
  };
  double supply_v = from_v;
  if (d.main_supply_v > 0) {
    constexpr double kLeastSupply_v = 1;
    supply_v = find_root(excess_at, std::fmin(kLeastSupply_v, 0.5 * from_v), from_v, kSupplyTolerance_v).x;
  }
  excess_at(supply_v);
  if (!found) return false;

  v[c.supply] = supply_v;
  const Element& section = *c.section(kFirstStage);
  v[section.a] = supply_v - first_a * first_ohm;
  v[section.c] = first_a * f.cathode_ohm;
  for (const Element& e : c)  // the foot of the part that no capacitor bridges, and the first stage's supply
    if (e.role == Role::cathode && e.member == &member::first_stage_cathode_ohm)
      v[e.a] = first_a * e.value(d);
    else if (e.role == Role::decoupling)
      v[e.b] = supply_v - first_a * f.decoupling_ohm;
  return true;
}

}  // namespace antiphase::first_stage
