#include "stagemodels/circuits/gain_and_splitter/sizing.h"

#include <array>

#include "stagemodels/circuits/first_stage/sizing.h"
#include "stagemodels/circuits/long_tailed_pair/sizing.h"
#include "stagemodels/members.h"

namespace antiphase::chain {
namespace {

// The pair is looked at closely by itself; of the first stage's plate resistor more than the ends matters.
constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v, 2},
    CircuitSizingInput{SizingInput::tail_fraction, 2},
    CircuitSizingInput{SizingInput::plate_current_a, 2},
    CircuitSizingInput{SizingInput::plate_ohm, 2},
    CircuitSizingInput{SizingInput::plate_ohm_ratio, 1},
    CircuitSizingInput{SizingInput::first_plate_ohm, 5, &first_stage::no_plate_resistor},
    CircuitSizingInput{SizingInput::first_plate_current_a, 2, &first_stage::current_follows}};
constexpr auto kFills = first_stage::fills_with(&member::bias_ohm, &member::bias_rail_v, &member::tail_ohm,
                                                &member::tail_current_a);

double size(const SizingInputs& w, Design& d) {
  return first_stage::size(w, &pair::size, d);
}

}  // namespace

constinit const Sizing kSizing{kSizingInputs, kFills, &size, &pair::kSizing};

}  // namespace antiphase::chain
