#include "stagemodels/circuits/split_load/sizing.h"

#include <algorithm>
#include <array>

#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::split_load {
namespace {

constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v}, CircuitSizingInput{SizingInput::plate_current_a},
    CircuitSizingInput{SizingInput::plate_ohm}, CircuitSizingInput{SizingInput::plate_ohm_ratio, 1}};
constexpr std::array kFills{&member::dropping_ohm, &member::supply_v, &member::plate_ohm_0,
                            &member::plate_ohm_1,  &member::bias_ohm, &member::bias_grid_v};

}  // namespace

double size(const SizingInputs& w, Design& d) {
  if (const double short_v = sizing::fill_supply(w, w.plate_current_a, d); short_v > 0) return short_v;
  d.plate_ohm = {w.plate_ohm, w.plate_ohm * w.plate_ohm_ratio};
  const double across_load = w.plate_current_a * d.plate_ohm[1];
  const bool direct = d.bias.form == BiasForm::direct_coupled;
  const double across_tube = w.supply_v - w.plate_current_a * d.plate_ohm[0] - across_load;
  if (across_tube < sizing::kLeastPlate_v) return sizing::kLeastPlate_v - across_tube;
  // The bias resistor takes the grid's voltage out of what is left for the tube.
  const ScalarRoot grid = sizing::grid_for_current(
      d.tube[0]->law(d.law), w.plate_current_a, [&](double vgk) { return across_tube + (direct ? 0 : vgk); });
  if (!grid.found) return sizing::kLeastPlate_v;
  if (direct)
    d.bias.grid_v = across_load + grid.x;
  else
    d.bias.ohm = std::max(sizing::kLeastOhm, -grid.x / w.plate_current_a);
  return 0;
}

constinit const Sizing kSizing{kSizingInputs, kFills, &size};

}  // namespace antiphase::split_load
