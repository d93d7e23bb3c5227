#include "stagemodels/circuits/gain_and_paraphase/sizing.h"

#include <array>

#include "stagemodels/circuits/first_stage/sizing.h"
#include "stagemodels/circuits/paraphase/sizing.h"
#include "stagemodels/members.h"

namespace antiphase::paraphase_chain {
namespace {

constexpr auto kFills = first_stage::fills_with(&member::cathode_ohm, &member::divider_foot_ohm);

double size(const SizingInputs& w, Design& d) {
  return first_stage::size(w, &paraphase::size, d);
}

}  // namespace

constinit const Sizing kSizing{first_stage::kInputsCoupled, kFills, &size, &paraphase::kSizing};

}  // namespace antiphase::paraphase_chain
