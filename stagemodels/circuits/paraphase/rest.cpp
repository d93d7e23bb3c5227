#include "stagemodels/circuits/paraphase/rest.h"

#include "stagemodels/circuits/single_section.h"

namespace antiphase::paraphase {

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

}  // namespace antiphase::paraphase
