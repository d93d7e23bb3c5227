/// The drawing of the common-cathode stage.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::gain_stage {

constexpr Picture picture(const Form&) {
  namespace block = picture_block;
  Picture p;
  constexpr int kX = 210, kEnd = kX + 60;  // past the words beside the plate resistor
  block::supply(p, kX, kEnd);
  block::coupled_source(p, kX - block::kLeak);
  block::gain_stage(p, kX, block::kFirstTap,
                    {"section_1", "plate_resistor_1", "cathode_resistor", "cathode_resistor_unbypassed",
                     "cathode_bypass", "grid_leak_1", "P1", "K"},
                    false);
  block::output_1(p, kX, block::kFirstTap, kEnd, "output");
  return p;
}
static_assert(picture({}).placings > 0);

}  // namespace antiphase::gain_stage
