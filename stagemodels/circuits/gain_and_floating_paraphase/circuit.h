/// A gain stage and the floating paraphase that it drives through a capacitor, as one circuit.
#pragma once

#include "stagemodels/circuits/first_stage/circuit.h"
#include "stagemodels/circuits/floating_paraphase/circuit.h"

namespace antiphase::floating_paraphase_chain {

constexpr Circuit circuit(const Form& form) {
  return first_stage::followed_by(&floating_paraphase::from_grid, form, false);
}

}  // namespace antiphase::floating_paraphase_chain
