/// A gain stage and the long-tailed pair that it drives, through a capacitor or directly, as one circuit.
#pragma once

#include "stagemodels/circuits/first_stage/circuit.h"
#include "stagemodels/circuits/long_tailed_pair/circuit.h"

namespace antiphase::chain {

constexpr Circuit circuit(const Form& form) {
  return first_stage::followed_by(&pair::from_grid, form, form.bias == BiasForm::direct_coupled);
}

}  // namespace antiphase::chain
