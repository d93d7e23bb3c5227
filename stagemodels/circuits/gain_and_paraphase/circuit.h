/// A gain stage and the paraphase that it drives through a capacitor, as one circuit.
#pragma once

#include "stagemodels/circuits/first_stage/circuit.h"
#include "stagemodels/circuits/paraphase/circuit.h"

namespace antiphase::paraphase_chain {

constexpr Circuit circuit(const Form& form) {
  return first_stage::followed_by(&paraphase::from_grid, form, false);
}

}  // namespace antiphase::paraphase_chain
