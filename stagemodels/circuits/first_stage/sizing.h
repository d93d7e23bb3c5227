/// How a gain stage ahead of a splitter is sized.
#pragma once

#include <array>

#include "stagemodels/members.h"
#include "stagemodels/sizing.h"

namespace antiphase::first_stage {

/// The splitter's grid sets the plate that gives out, so its resistor sets the current.
inline bool current_follows(const Design& d) {
  return d.bias.form == BiasForm::direct_coupled &&
         (d.first_stage.form == GainForm::triode || d.first_stage.form == GainForm::cascode ||
          d.first_stage.form == GainForm::pentode);
}
/// The stage has no such resistor.
inline bool no_plate_resistor(const Design& d) {
  return d.first_stage.form == GainForm::constant_current || d.first_stage.form == GainForm::srpp;
}

/// Of a splitter without a tail that a capacitor couples. It is looked at closely by itself; of the first
/// stage's plate resistor more than the ends matters.
inline constexpr std::array kInputsCoupled{
    CircuitSizingInput{SizingInput::supply_v, 2},
    CircuitSizingInput{SizingInput::plate_current_a, 2},
    CircuitSizingInput{SizingInput::plate_ohm, 2},
    CircuitSizingInput{SizingInput::plate_ohm_ratio, 1},
    CircuitSizingInput{SizingInput::first_plate_ohm, 5, &no_plate_resistor},
    CircuitSizingInput{SizingInput::first_plate_current_a, 2}};

/// What sizing fills in a chain: what all have, the first stage's parts in any of its forms, and the
/// splitter's own behind them.
template <class... Own>
constexpr auto fills_with(const Own*... own) {
  return std::array<const DesignField*, 11 + sizeof...(Own)>{&member::dropping_ohm,
                                                             &member::supply_v,
                                                             &member::plate_ohm_0,
                                                             &member::plate_ohm_1,
                                                             &member::first_stage_plate_ohm,
                                                             &member::first_stage_cathode_ohm,
                                                             &member::first_stage_second_plate_ohm,
                                                             &member::first_stage_second_cathode_ohm,
                                                             &member::first_stage_second_grid_foot_ohm,
                                                             &member::first_stage_load_current_a,
                                                             &member::first_stage_screen_ohm,
                                                             own...};
}

/// The splitter by its own rule, the first stage to suit it, and the supply for both. See size_stage().
double size(const SizingInputs& inputs, double (*splitter)(const SizingInputs&, Design&), Design& design);

}  // namespace antiphase::first_stage
