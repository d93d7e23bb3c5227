/// The drawing of the split-load splitter.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::split_load {

constexpr Picture picture(const Form& form) {
  namespace block = picture_block;
  Picture p;
  const bool direct = form.bias == BiasForm::direct_coupled;
  constexpr int kX = 250, kEnd = kX + 60, kGrid = 95;
  block::supply(p, kX, kEnd);
  p.place("plate_resistor_1", at(kX, block::kRail), at(kX, block::kFirstTap - 15)).current = true;
  p.line({at(kX, block::kFirstTap - 15), at(kX, block::kFirstTap), at(kX, block::kTube - kTriodeReach)});
  p.tells("P1", at(kX, block::kFirstTap), Side::left);
  p.triode("section_1", at(kX, block::kTube), Side::left);
  p.line({at(kX, block::kTube + kTriodeReach), at(kX, block::kCathode)});
  p.line({at(kX - kTriodeReach, block::kTube), at(kX - kGrid, block::kTube)});
  block::output_1(p, kX, block::kFirstTap, kEnd, "output 1");

  int top = block::kCathode;  // of the cathode load
  if (direct) {
    p.leads_out(at(20, block::kTube), Side::upper_right, {"from the plate of", "the stage before"},
                {{{"source", "at "}, {"source_resistance", "from "}, {"source_capacitance", "and "}}})
        .words_at = at(12, block::kTube);
    p.line({at(20, block::kTube), at(kX - kGrid, block::kTube)});
    p.place("grid_clamp_1", at(kX - kGrid, block::kTube), at(kX - kGrid, block::kCathode), Side::left);
    p.line({at(kX - kGrid, block::kCathode), at(kX, block::kCathode)}, "grid_clamp_1");
    p.tells("K", at(kX, top), Side::lower_left);
  } else {
    top = block::kCathode + 75;
    block::coupled_source(p, kX - kGrid);
    p.tells("GIN", at(kX - kGrid, block::kTube), Side::above);
    p.tells("K", at(kX, block::kCathode), Side::right);
    p.place("bias_resistor", at(kX, block::kCathode), at(kX, top));
    p.line({at(kX - kGrid, block::kTube), at(kX - kGrid, block::kCathode)});
    p.place("grid_leak_1", at(kX - kGrid, block::kCathode), at(kX - kGrid, top), Side::left);
    p.line({at(kX - kGrid, top), at(kX, top)});
    p.tells("LOAD2", at(kX, top), Side::lower_left);
  }
  p.place("cathode_load", at(kX, top), at(kX, top + 90)).current = true;
  p.earth(at(kX, top + 90));
  block::output_2(p, kX, top, kEnd, "output 2");
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled}).placings > 0);

}  // namespace antiphase::split_load
