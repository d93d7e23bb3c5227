#include "stagemodels/circuits/gain_and_paraphase/sizing.h"

#include <array>

#include "stagemodels/circuits/first_stage/sizing.h"
#include "stagemodels/circuits/paraphase/sizing.h"
#include "stagemodels/members.h"

namespace antiphase::paraphase_chain {
namespace {

constexpr std::array kFills{&member::dropping_ohm,
                            &member::supply_v,
                            &member::plate_ohm_0,
                            &member::plate_ohm_1,
                            &member::first_stage_plate_ohm,
                            &member::first_stage_cathode_ohm,
                            &member::first_stage_second_plate_ohm,
                            &member::first_stage_second_cathode_ohm,
                            &member::first_stage_second_grid_foot_ohm,
                            &member::first_stage_load_current_a,
                            &member::cathode_ohm,
                            &member::divider_foot_ohm};

double size(const SizingInputs& w, Design& d) {
  return first_stage::size(w, &paraphase::size, d);
}

}  // namespace

constinit const Sizing kSizing{first_stage::kInputsCoupled, kFills, &size, &paraphase::kSizing};

}  // namespace antiphase::paraphase_chain
