#include "stagemodels/circuits/common_cathode/sizing.h"

#include <array>

#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::gain_stage {
namespace {

constexpr std::array kSizingInputs{CircuitSizingInput{SizingInput::supply_v},
                                   CircuitSizingInput{SizingInput::plate_current_a},
                                   CircuitSizingInput{SizingInput::plate_ohm}};
constexpr std::array kFills{&member::dropping_ohm, &member::supply_v, &member::plate_ohm_0,
                            &member::cathode_ohm};

double size(const SizingInputs& w, Design& d) {
  if (const double short_v = sizing::fill_supply(w, w.plate_current_a, d); short_v > 0) return short_v;
  d.plate_ohm[0] = w.plate_ohm;
  return sizing::fill_cathode_resistor(d.tube[0]->law(d.law), w.supply_v - w.plate_current_a * w.plate_ohm,
                                       w.plate_current_a, sizing::kLeastOhm, d.cathode_ohm);
}

}  // namespace

constinit const Sizing kSizing{kSizingInputs, kFills, &size};

}  // namespace antiphase::gain_stage
