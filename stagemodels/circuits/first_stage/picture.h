/// The drawing of a gain stage ahead of a splitter.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::first_stage {

inline constexpr int kPlace = 210;  ///< of the first section

/// The rail from the splitter's first section at `splitter_x` back to the first stage, whose own supply may
/// be decoupled.
constexpr void own_supply(Picture& p, int splitter_x) {
  using picture_block::kRail;
  constexpr std::string_view kResistor = "decoupling_resistor", kCapacitor = "decoupling_capacitor";
  constexpr int kAside = 60;
  p.line({at(splitter_x, kRail), at(splitter_x - 30, kRail)});
  p.place(kResistor, at(splitter_x - 30, kRail), at(splitter_x - 80, kRail));
  p.line({at(splitter_x - 80, kRail), at(kPlace, kRail)});
  p.tells("B0", at(kPlace, kRail), Side::above, kResistor);
  p.line({at(kPlace, kRail), at(kPlace - kAside, kRail), at(kPlace - kAside, kRail + 10)}, kCapacitor);
  p.place(kCapacitor, at(kPlace - kAside, kRail + 10), at(kPlace - kAside, kRail + 60), Side::left);
  p.earth(at(kPlace - kAside, kRail + 60), kCapacitor);
}

/// Where a splitter's grid is led to.
struct GridEnd {
  int x = 0;            ///< the wire comes down here to the height of the tubes
  bool told = false;    ///< its voltage is told there
  bool direct = false;  ///< the plate holds it: no capacitor on the way
};

/// The stage from the source to the splitter's grid, tapped at the height of the second output. `splitter_x`:
/// of the splitter's first section; `end`: of its last plate resistor.
constexpr void picture(Picture& p, const Form& form, int splitter_x, int end, GridEnd grid) {
  using namespace picture_block;
  supply(p, splitter_x, end);
  own_supply(p, splitter_x);
  coupled_source(p, kPlace - kLeak);
  gain_stage(p, kPlace, kSecondTap,
             {"first_section", "first_plate_resistor", "first_cathode_resistor",
              "first_cathode_resistor_unbypassed", "first_cathode_bypass", "first_grid_leak", "P0", "K0"},
             form.feedback);
  int from = kPlace;
  if (!grid.direct) {
    p.line({at(kPlace, kSecondTap), at(kPlace + 40, kSecondTap)});
    from = kPlace + 90;
    p.place("capacitor_between_stages", at(kPlace + 40, kSecondTap), at(from, kSecondTap));
  }
  p.line({at(from, kSecondTap), at(grid.x, kSecondTap), at(grid.x, kTube)});
  if (grid.told) p.tells("G1", at(grid.x, kSecondTap), Side::lower_right);
}

}  // namespace antiphase::first_stage
