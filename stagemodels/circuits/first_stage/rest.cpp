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

/// One current through two sections, one above the other: where the plate between them stands is where both
/// pass the same. Amperes below 0: none fits.
double stacked_a(const Design& d, double supply_v, double& plate_v) {
  constexpr double kToleratedShare = 1e-3;
  const FirstStage& f = d.first_stage;
  const bool held = f.form == GainForm::cascode;
  const double feed = f.second_grid_feed_ohm, foot = f.second_grid_foot_ohm;
  const double grid_v = held ? supply_v * foot / (feed + foot) : 0;
  const double above_ohm = f.form == GainForm::srpp ? f.second_cathode_ohm
                           : held                   ? f.plate_ohm
                                                    : f.plate_ohm + f.second_cathode_ohm;
  const TriodeSection lower = d.first_section(), upper = d.second_section();
  double below_a = 0;
  const auto excess_at = [&](double v) {
    below_a =
        rest_current_a({.section = lower, .supply_v = v, .ohm = f.cathode_ohm, .bias_ohm = f.cathode_ohm},
                       kToleratedShare * v / f.cathode_ohm);
    const double across_v = supply_v - v;
    const double above_a = rest_current_a({.section = upper,
                                           .supply_v = across_v,
                                           .ohm = above_ohm,
                                           .grid_v = held ? grid_v - v : 0,
                                           .bias_ohm = held ? 0 : f.second_cathode_ohm},
                                          kToleratedShare * across_v / above_ohm);
    return below_a - above_a;
  };
  constexpr double kEnds = 1e-3;  // of the supply: nothing flows at the ends themselves
  plate_v = find_root(excess_at, kEnds * supply_v, (1 - kEnds) * supply_v, kToleratedShare * supply_v).x;
  excess_at(plate_v);
  return below_a;
}

/// A pentode as if its plate stood where its screen does, where the two share their current as the law says:
/// its screen then is the plate of a triode. Amperes of both.
double pentode_a(const Circuit& c, const Design& d, double supply_v, NodeVolts& v) {
  constexpr double kToleratedShare = 1e-3, kLeastPlateShare = 0.05;
  const FirstStage& f = d.first_stage;
  const Element& tube = *c.section(kFirstStage);
  const TriodeSection section = d.first_section();
  const double of_screen = 1 / (1 + section.pentode->division),
               ohm = of_screen * f.screen_ohm + f.cathode_ohm;
  const double a = rest_current_a(
      {.section = section.as_triode(), .supply_v = supply_v, .ohm = ohm, .bias_ohm = f.cathode_ohm},
      kToleratedShare * supply_v / ohm);
  v[tube.screen] = supply_v - a * of_screen * f.screen_ohm;
  v[tube.a] = std::fmax(supply_v - a * (1 - of_screen) * f.plate_ohm, kLeastPlateShare * supply_v);
  return a;
}

/// The current through the first cathode, and where it leaves the stage's nodes, on a supply of its own.
/// Amperes below 0: none fits. `all_a`: what the whole stage takes.
double first_alone_a(const Circuit& c, const Design& d, double supply_v, NodeVolts& v, double& all_a) {
  constexpr double kToleratedShare = 1e-3;
  const FirstStage& f = d.first_stage;
  const Element &first = *c.section(kFirstStage), *second = c.section(kGainSecond);
  const auto on_resistor = [&](const TriodeSection& section, double from_v, double ohm, double cathode_ohm) {
    return rest_current_a(
        {.section = section, .supply_v = from_v, .ohm = ohm + cathode_ohm, .bias_ohm = cathode_ohm},
        kToleratedShare * from_v / ohm);
  };
  double a = 0;
  if (f.form == GainForm::pentode) {
    a = pentode_a(c, d, supply_v, v);
  } else if (f.form == GainForm::constant_current) {
    a = on_resistor(d.first_section(), supply_v + f.load_current_a * f.load_output_ohm, f.load_output_ohm,
                    f.cathode_ohm);
    v[first.a] = supply_v - (a - f.load_current_a) * f.load_output_ohm;
  } else if (f.form == GainForm::two_triodes) {
    a = on_resistor(d.first_section(), supply_v, f.plate_ohm, f.cathode_ohm);
    const double second_a =
        on_resistor(d.second_section(), supply_v, f.second_plate_ohm, f.second_cathode_ohm);
    if (second_a < 0) return second_a;
    v[first.a] = supply_v - a * f.plate_ohm;
    v[second->a] = supply_v - second_a * f.second_plate_ohm;
    v[second->b] = 0;
    v[second->c] = second_a * f.second_cathode_ohm;
    for (const Element& e : c)
      if (e.role == Role::cathode && e.member == &member::first_stage_second_cathode_ohm)
        v[e.a] = second_a * e.value(d);
    all_a = a + second_a;
    return a;
  } else {
    double plate_v = 0;
    a = stacked_a(d, supply_v, plate_v);
    v[first.a] = plate_v;
    const bool held = f.form == GainForm::cascode;
    const double foot_v = f.form == GainForm::srpp ? plate_v : plate_v + a * f.plate_ohm;
    const double divider_ohm = f.second_grid_feed_ohm + f.second_grid_foot_ohm;
    v[second->a] = held ? supply_v - a * f.plate_ohm : supply_v;
    v[second->b] = held ? supply_v * f.second_grid_foot_ohm / divider_ohm : foot_v;
    v[second->c] = held ? plate_v : foot_v + a * f.second_cathode_ohm;
    all_a = held ? a + supply_v / divider_ohm : a;
    return a;
  }
  all_a = a;
  return a;
}

bool start_rest(const Circuit& c, const Design& d, SplitterRest splitter, NodeVolts& v) {
  constexpr double kSupplyTolerance_v = 1e-3, kToleratedShare = 1e-3;  // Newton goes on from there
  const FirstStage& f = d.first_stage;
  const TriodeSection first = d.first_section();
  const double from_v = cold_supply_v(d), first_ohm = f.plate_ohm + f.decoupling_ohm;
  double first_a = 0;  // through the first section
  bool found = true;
  const auto of_other_form = [&](double supply_v) {
    // What the stage takes hangs a little on what its decoupling resistor drops.
    double all_a = 0;
    for (int pass = 0; pass < (f.decoupling_ohm > 0 ? 3 : 1); ++pass) {
      const double own_v = std::fmax(supply_v - all_a * f.decoupling_ohm, 0.1 * supply_v);
      first_a = first_alone_a(c, d, own_v, v, all_a);
      if (c.first_supply != c.supply) v[c.first_supply] = own_v;
    }
    found = first_a >= 0 && splitter(c, d, supply_v, 0, v[c.first_output], v);
    return (from_v - supply_v) / d.dropping_ohm - all_a - splitter_a(c, d, v);
  };
  const auto excess_at = [&](double supply_v) {
    if (f.form != GainForm::triode) return of_other_form(supply_v);
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
  if (f.form == GainForm::triode) v[section.a] = supply_v - first_a * first_ohm;
  v[section.c] = first_a * f.cathode_ohm;
  for (const Element& e : c)  // the foot of the part that no capacitor bridges, and the first stage's supply
    if (e.role == Role::cathode && e.member == &member::first_stage_cathode_ohm)
      v[e.a] = first_a * e.value(d);
    else if (e.role == Role::decoupling && f.form == GainForm::triode)
      v[e.b] = supply_v - first_a * f.decoupling_ohm;
  return true;
}

}  // namespace antiphase::first_stage
