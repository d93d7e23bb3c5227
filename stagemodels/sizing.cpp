#include "stagemodels/sizing.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/solve/scalar_root.h"

namespace antiphase {
namespace {

constexpr double kLowestGrid_v = -150, kHighestGrid_v = 5;
constexpr double kLeastPlate_v = 20;  // below, no small triode passes a useful current with a negative grid
constexpr double kLeastOhm = 1;
constexpr double kHighestRail_v = -0.1;  // as in the table of fields

/// Grid-to-cathode voltage at which a section passes the current with `plate_to_cathode_v(vgk)` across it.
template <class PlateVoltage>
ScalarRoot grid_for_current(const TriodeLaw& law, double current_a, PlateVoltage&& plate_to_cathode_v) {
  return find_root(
      [&](double vgk) { return currents_at(law, vgk, plate_to_cathode_v(vgk)).plate_a - current_a; },
      kLowestGrid_v, kHighestGrid_v, 1e-9);
}

double size_pair(const Wishes& w, Design& d) {
  const TriodeLaw& law = d.tube[0]->law(d.law);
  const double ohm = 0.5 * w.plate_ohm * (1 + w.plate_ohm_ratio);
  const double total = 2 * w.plate_current_a;
  const double above_plate = w.supply_v - w.plate_current_a * ohm;  // plate to ground
  double across_tail = w.tail_fraction * w.supply_v;                // to ground
  const bool rail = d.bias.form == BiasForm::negative_rail;
  if (rail) across_tail = 0;
  if (above_plate - across_tail < kLeastPlate_v) return kLeastPlate_v - above_plate + across_tail;

  // The cathode stands on the tail; with bias resistor or rail, |vgk| comes on top of it.
  const auto cathode_v = [&](double vgk) {
    return d.bias.form == BiasForm::direct_coupled ? across_tail : across_tail - vgk;
  };
  const ScalarRoot grid =
      grid_for_current(law, w.plate_current_a, [&](double vgk) { return above_plate - cathode_v(vgk); });
  if (!grid.found) return kLeastPlate_v;
  const double vgk = grid.x;
  switch (d.bias.form) {
    case BiasForm::self_biased:
      d.bias.ohm = std::max(kLeastOhm, -vgk / total);
      break;
    case BiasForm::direct_coupled:
      d.bias.grid_v = across_tail + vgk;
      break;
    case BiasForm::negative_rail:
      if (!(d.bias.rail_v < 0)) {  // (cathode - rail) / (supply - rail) = share
        const double rail_v = (-vgk - w.tail_fraction * w.supply_v) / (1 - w.tail_fraction);
        if (rail_v > kHighestRail_v) return rail_v - kHighestRail_v;  // the bias alone is more than the share
        d.bias.rail_v = rail_v;
      }
      across_tail = -vgk - d.bias.rail_v;
      break;
  }
  if (d.tail.form == TailForm::resistor)
    d.tail.ohm = std::max(kLeastOhm, across_tail / total);
  else
    d.tail.current_a = std::max(1e-6, total - across_tail / d.tail.output_ohm);
  return 0;
}

double size_gain_stage(const Wishes& w, Design& d) {
  const double plate_v = w.supply_v - w.plate_current_a * w.plate_ohm;
  if (plate_v < kLeastPlate_v) return kLeastPlate_v - plate_v;
  const ScalarRoot grid =
      grid_for_current(d.tube[0]->law(d.law), w.plate_current_a, [&](double vgk) { return plate_v + vgk; });
  if (!grid.found) return kLeastPlate_v;
  d.cathode_ohm = std::max(kLeastOhm, -grid.x / w.plate_current_a);
  return 0;
}

/// The first stage of a chain whose pair is sized.
double size_first_stage(const Wishes& w, Design& d, double& current_a) {
  FirstStage& f = d.first_stage;
  f.plate_ohm = w.first_plate_ohm;
  const bool direct = direct_first_stage(d);
  current_a = direct ? (w.supply_v - d.bias.grid_v) / f.plate_ohm : w.first_plate_current_a;
  d.bias.grid_v = 0;  // a result
  const double plate_v = w.supply_v - current_a * f.plate_ohm;
  if (plate_v < kLeastPlate_v) return kLeastPlate_v - plate_v;
  const ScalarRoot grid =
      grid_for_current(f.tube->law(d.law), current_a, [&](double vgk) { return plate_v + vgk; });
  if (!grid.found) return kLeastPlate_v;
  f.cathode_ohm = std::max(kLeastOhm + f.cathode_unbypassed_ohm, -grid.x / current_a);
  return 0;
}

double size_chain(const Wishes& w, Design& d) {
  const double short_v = size_pair(w, d);
  if (short_v > 0) return short_v;
  double first_a = 0;
  const double first_short_v = size_first_stage(w, d, first_a);
  if (first_short_v > 0) return first_short_v;
  if (d.main_supply_v > 0)
    d.dropping_ohm = std::max(kLeastOhm, (d.main_supply_v - w.supply_v) / (2 * w.plate_current_a + first_a));
  return 0;
}

}  // namespace

double size_stage(const Wishes& wishes, Design& design) {
  if (design.main_supply_v > 0) {
    const double drop_v = design.main_supply_v - wishes.supply_v;
    if (drop_v < 0) return -drop_v;
    design.supply_v = 0;  // a result
    design.dropping_ohm = std::max(kLeastOhm, drop_v / (sections(design.circuit) * wishes.plate_current_a));
  } else {
    design.supply_v = wishes.supply_v;
  }
  design.plate_ohm = {wishes.plate_ohm, wishes.plate_ohm * wishes.plate_ohm_ratio};
  if (has_first_stage(design)) return size_chain(wishes, design);
  return design.circuit == CircuitKind::long_tailed_pair ? size_pair(wishes, design)
                                                         : size_gain_stage(wishes, design);
}

}  // namespace antiphase
