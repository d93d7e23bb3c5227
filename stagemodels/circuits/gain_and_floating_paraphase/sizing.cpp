#include "stagemodels/circuits/gain_and_floating_paraphase/sizing.h"

#include <array>

#include "stagemodels/circuits/first_stage/sizing.h"
#include "stagemodels/circuits/floating_paraphase/sizing.h"
#include "stagemodels/members.h"

namespace antiphase::floating_paraphase_chain {
namespace {

constexpr auto kFills =
    first_stage::fills_with(&member::cathode_ohm, &member::balancing_ohm, &member::divider_foot_ohm);

double size(const SizingInputs& w, Design& d) {
  return first_stage::size(w, &floating_paraphase::size, d);
}

}  // namespace

constinit const Sizing kSizing{first_stage::kInputsCoupled, kFills, &size, &floating_paraphase::kSizing};

}  // namespace antiphase::floating_paraphase_chain
