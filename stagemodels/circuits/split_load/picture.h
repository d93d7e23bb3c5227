/// The drawing of the split-load splitter.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::split_load {

inline constexpr int kEnd = 60;   ///< from the section to where its outputs pass the words beside its parts
inline constexpr int kGrid = 95;  ///< from the section out to where its grid is fed

/// The splitter from its grid on, its section at `x`; the wire of the grid is led out as far as x - kGrid.
constexpr void picture_from_grid(Picture& p, const Form& form, int x) {
  namespace block = picture_block;
  p.place("plate_resistor_1", at(x, block::kRail), at(x, block::kFirstTap - 15)).current = true;
  p.line({at(x, block::kFirstTap - 15), at(x, block::kFirstTap), at(x, block::kTube - kTriodeReach)});
  p.tells("P1", at(x, block::kFirstTap), Side::left);
  p.triode("section_1", at(x, block::kTube), Side::left);
  p.line({at(x, block::kTube + kTriodeReach), at(x, block::kCathode)});
  p.line({at(x - kTriodeReach, block::kTube), at(x - kGrid, block::kTube)});
  block::output_1(p, x, block::kFirstTap, x + kEnd, "output 1");

  int top = block::kCathode;  // of the cathode load
  if (form.bias == BiasForm::direct_coupled) {
    p.place("grid_clamp_1", at(x - kGrid, block::kTube), at(x - kGrid, block::kCathode), Side::left);
    p.line({at(x - kGrid, block::kCathode), at(x, block::kCathode)}, "grid_clamp_1");
    p.tells("K", at(x, top), Side::lower_left);
  } else {
    top = block::kCathode + 75;
    p.tells("K", at(x, block::kCathode), Side::right);
    p.place("bias_resistor", at(x, block::kCathode), at(x, top));
    p.line({at(x - kGrid, block::kTube), at(x - kGrid, block::kCathode)});
    p.place("grid_leak_1", at(x - kGrid, block::kCathode), at(x - kGrid, top), Side::left);
    p.line({at(x - kGrid, top), at(x, top)});
    p.tells("LOAD2", at(x, top), Side::lower_left);
  }
  p.place("cathode_load", at(x, top), at(x, top + 90)).current = true;
  p.earth(at(x, top + 90));
  block::output_2(p, x, top, x + kEnd, "output 2");
}

constexpr Picture picture(const Form& form) {
  namespace block = picture_block;
  Picture p;
  constexpr int kX = 250;
  block::supply(p, kX, kX + kEnd);
  if (form.bias == BiasForm::direct_coupled) {
    p.leads_out(at(20, block::kTube), Side::upper_right, {"from the plate of", "the stage before"},
                {{{"source", "at "}, {"source_resistance", "from "}, {"source_capacitance", "and "}}})
        .words_at = at(12, block::kTube);
    p.line({at(20, block::kTube), at(kX - kGrid, block::kTube)});
  } else {
    block::coupled_source(p, kX - kGrid);
    p.tells("GIN", at(kX - kGrid, block::kTube), Side::above);
  }
  picture_from_grid(p, form, kX);
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled}).placings > 0);

}  // namespace antiphase::split_load
