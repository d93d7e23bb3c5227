#include "stagemodels/circuits/long_tailed_pair/sizing.h"

#include <algorithm>
#include <array>

#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::pair {
namespace {

constexpr double kHighestRail_v = member::bias_rail_v.high;

constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v}, CircuitSizingInput{SizingInput::tail_fraction},
    CircuitSizingInput{SizingInput::plate_current_a}, CircuitSizingInput{SizingInput::plate_ohm},
    CircuitSizingInput{SizingInput::plate_ohm_ratio, 1}};
constexpr std::array kFills{&member::dropping_ohm, &member::supply_v, &member::plate_ohm_0,
                            &member::plate_ohm_1,  &member::bias_ohm, &member::bias_grid_v,
                            &member::bias_rail_v,  &member::tail_ohm, &member::tail_current_a};

}  // namespace

double size(const SizingInputs& w, Design& d) {
  if (const double short_v = sizing::fill_supply(w, 2 * w.plate_current_a, d); short_v > 0) return short_v;
  d.plate_ohm = {w.plate_ohm, w.plate_ohm * w.plate_ohm_ratio};
  const TriodeLaw& law = d.tube[0]->law(d.law);
  const double ohm = 0.5 * w.plate_ohm * (1 + w.plate_ohm_ratio);
  const double total = 2 * w.plate_current_a;
  const double above_plate = w.supply_v - w.plate_current_a * ohm;  // plate to ground
  double across_tail = w.tail_fraction * w.supply_v;                // to ground
  const bool rail = d.bias.form == BiasForm::negative_rail;
  if (rail) across_tail = 0;
  if (above_plate - across_tail < sizing::kLeastPlate_v)
    return sizing::kLeastPlate_v - above_plate + across_tail;

  // The cathode stands on the tail; with bias resistor or rail, |vgk| comes on top of it.
  const auto cathode_v = [&](double vgk) {
    return d.bias.form == BiasForm::direct_coupled ? across_tail : across_tail - vgk;
  };
  const ScalarRoot grid = sizing::grid_for_current(law, w.plate_current_a,
                                                   [&](double vgk) { return above_plate - cathode_v(vgk); });
  if (!grid.found) return sizing::kLeastPlate_v;
  const double vgk = grid.x;
  switch (d.bias.form) {
    case BiasForm::self_biased:
      d.bias.ohm = std::max(sizing::kLeastOhm, -vgk / total);
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
    d.tail.ohm = std::max(sizing::kLeastOhm, across_tail / total);
  else
    d.tail.current_a = std::max(1e-6, total - across_tail / d.tail.output_ohm);
  return 0;
}

constinit const Sizing kSizing{kSizingInputs, kFills, &size};

}  // namespace antiphase::pair
