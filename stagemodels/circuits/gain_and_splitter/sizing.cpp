#include "stagemodels/circuits/gain_and_splitter/sizing.h"

#include <algorithm>
#include <array>

#include "stagemodels/circuits/long_tailed_pair/sizing.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::chain {
namespace {

/// The pair's grids set the first plate, so its resistor sets the current.
bool coupled_directly(const Design& d) {
  return d.bias.form == BiasForm::direct_coupled;
}

// The pair is looked at closely by itself; of the first stage's plate resistor more than the ends matters.
constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v, 2},
    CircuitSizingInput{SizingInput::tail_fraction, 2},
    CircuitSizingInput{SizingInput::plate_current_a, 2},
    CircuitSizingInput{SizingInput::plate_ohm, 2},
    CircuitSizingInput{SizingInput::plate_ohm_ratio, 1},
    CircuitSizingInput{SizingInput::first_plate_ohm, 5},
    CircuitSizingInput{SizingInput::first_plate_current_a, 2, &coupled_directly}};
constexpr std::array kFills{&member::dropping_ohm,
                            &member::supply_v,
                            &member::plate_ohm_0,
                            &member::plate_ohm_1,
                            &member::first_stage_plate_ohm,
                            &member::first_stage_cathode_ohm,
                            &member::bias_ohm,
                            &member::bias_rail_v,
                            &member::tail_ohm,
                            &member::tail_current_a};

double size(const SizingInputs& w, Design& d) {
  if (const double short_v = pair::size(w, d); short_v > 0) return short_v;
  FirstStage& f = d.first_stage;
  f.plate_ohm = w.first_plate_ohm;
  const double from_supply_ohm = f.plate_ohm + f.decoupling_ohm;
  const double current_a =
      coupled_directly(d) ? (w.supply_v - d.bias.grid_v) / from_supply_ohm : w.first_plate_current_a;
  d.bias.grid_v = 0;  // a result
  const double short_v =
      sizing::fill_cathode_resistor(f.tube->law(d.law), w.supply_v - current_a * from_supply_ohm, current_a,
                                    sizing::kLeastOhm + f.cathode_unbypassed_ohm, f.cathode_ohm);
  if (short_v > 0) return short_v;
  return sizing::fill_supply(w, 2 * w.plate_current_a + current_a, d);
}

}  // namespace

constinit const Sizing kSizing{kSizingInputs, kFills, &size, &pair::kSizing};

}  // namespace antiphase::chain
