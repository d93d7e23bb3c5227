/// The drawing of the long-tailed pair.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::pair {

inline constexpr int kApart = 210;  ///< from section to section
inline constexpr int kGrid = 62;    ///< from a section out to where its grid is fed

/// The pair from its grids on, its first section at `x`; the wire of grid 1 is led out as far as x - kGrid,
/// or x - 75 where a plate holds it.
constexpr void picture_from_grid(Picture& p, const Form& form, int x) {
  using namespace picture_block;
  const bool self = form.bias == BiasForm::self_biased, direct = form.bias == BiasForm::direct_coupled;
  const int y = x + kApart, middle = x + kApart / 2;
  p.place("plate_resistor_1", at(x, kRail), at(x, kFirstTap - 15)).current = true;
  p.line({at(x, kFirstTap - 15), at(x, kFirstTap), at(x, kTube - kTriodeReach)});
  p.place("plate_resistor_2", at(y, kRail), at(y, kFirstTap - 15), Side::left).current = true;
  p.line({at(y, kFirstTap - 15), at(y, kSecondTap), at(y, kTube - kTriodeReach)});
  p.tells("P1", at(x, kFirstTap), Side::left);
  p.tells("P2", at(y, kSecondTap), Side::left);
  p.triode("section_1", at(x, kTube), Side::left);
  p.triode("section_2", at(y, kTube), Side::right);
  output_1(p, x, kFirstTap, y, "output 1");
  output_2(p, y, kSecondTap, y, "output 2");

  p.line({at(x, kTube + kTriodeReach), at(x, kCathode), at(middle, kCathode), at(y, kCathode),
          at(y, kTube + kTriodeReach)});
  p.tells("K", at(middle, kCathode), Side::above);

  // Grid 1 has its leak or its clamp at x - kGrid; grid 2 has both side by side, and its bypass beyond.
  const int leak_2 = direct ? y + 95 : y + kGrid, bypass = leak_2 + 95;
  p.line({at(x - kTriodeReach, kTube), at(x - kGrid, kTube)});
  p.line({at(y + kTriodeReach, kTube), at(leak_2, kTube), at(bypass, kTube)});
  p.place("grid_2_bypass", at(bypass, kTube), at(bypass, kTube + 80));
  p.earth(at(bypass, kTube + 80));
  if (self || direct) p.tells("G2", at(y + kTriodeReach, kTube), Side::upper_right);

  int top = kCathode;
  if (self) {
    top = kCathode + 65;
    p.place("bias_resistor", at(middle, kCathode), at(middle, top));
    p.line({at(x - kGrid, kTube), at(x - kGrid, kCathode)});
    p.place("grid_leak_1", at(x - kGrid, kCathode), at(x - kGrid, top));
    p.line({at(leak_2, kTube), at(leak_2, kCathode)});
    p.place("grid_leak_2", at(leak_2, kCathode), at(leak_2, top));
    p.line({at(x - kGrid, top), at(middle, top), at(leak_2, top)});
    p.tells("TAIL", at(middle, top), Side::lower_left);
  } else if (direct) {
    const int foot = kCathode + 40;
    p.place("grid_clamp_1", at(x - kGrid, kTube), at(x - kGrid, kCathode));
    p.line({at(x - kGrid, kCathode), at(x, kCathode)}, "grid_clamp_1");
    p.place("grid_clamp_2", at(y + kGrid, kTube), at(y + kGrid, kCathode), Side::left);
    p.line({at(y + kGrid, kCathode), at(y, kCathode)}, "grid_clamp_2");
    p.line({at(x - kGrid, kTube), at(x - 75, kTube), at(x - 75, foot), at(leak_2, foot)});
    p.place("grid_leak_2", at(leak_2, kTube), at(leak_2, foot));
    top = foot + 10;
    p.line({at(middle, kCathode), at(middle, top)});
  } else {
    p.line({at(x - kGrid, kTube), at(x - kGrid, kCathode)});
    p.place("grid_leak_1", at(x - kGrid, kCathode), at(x - kGrid, kCathode + 65));
    p.earth(at(x - kGrid, kCathode + 65));
    p.place("grid_leak_2", at(leak_2, kTube), at(leak_2, kTube + 80));
    p.earth(at(leak_2, kTube + 80));
  }
  Placed& tail = p.place("tail", at(middle, top), at(middle, top + 80));
  if (form.tail == TailForm::resistor)
    tail.current = true;
  else
    tail.said = {"sink_resistance", "", " across it"};
  if (form.bias == BiasForm::negative_rail)
    p.leads_out(at(middle, top + 80), Side::below, {}, {{{"rail", ""}}});
  else
    p.earth(at(middle, top + 80));
}

constexpr Picture picture(const Form& form) {
  using namespace picture_block;
  Picture p;
  const bool direct = form.bias == BiasForm::direct_coupled;
  const int x = direct ? 250 : 230;
  supply(p, x, x + kApart);
  if (direct) {
    p.leads_out(at(20, kTube), Side::upper_right, {"from the plate of", "the stage before"},
                {{{"source", "at "}, {"source_resistance", "from "}, {"source_capacitance", "and "}}})
        .words_at = at(12, kTube);
    p.line({at(20, kTube), at(x - 75, kTube)});
  } else {
    coupled_source(p, x - kGrid);
    if (form.bias == BiasForm::self_biased) p.tells("GIN", at(x - 95, kTube), Side::above);
  }
  picture_from_grid(p, form, x);
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled}).placings > 0);

}  // namespace antiphase::pair
