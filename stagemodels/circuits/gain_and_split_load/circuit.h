/// A gain stage and the split-load splitter that it drives, through a capacitor or directly, as one circuit.
#pragma once

#include "stagemodels/circuits/first_stage/circuit.h"
#include "stagemodels/circuits/split_load/circuit.h"

namespace antiphase::split_load_chain {

constexpr Circuit circuit(const Form& form) {
  return first_stage::followed_by(&split_load::from_grid, form, form.bias == BiasForm::direct_coupled);
}

}  // namespace antiphase::split_load_chain
