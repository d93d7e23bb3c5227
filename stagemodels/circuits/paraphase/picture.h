/// The drawing of the paraphase.
#pragma once

#include "stagemodels/circuits/first_stage/picture.h"

namespace antiphase::paraphase {

inline constexpr int kApart = 230;    ///< from section to section
inline constexpr int kLeak = 95;      ///< from section 1 out to where its grid is fed and has its leak
inline constexpr int kDivider = 105;  ///< from section 2 to what hangs on output 1
inline constexpr int kBalancing = kDivider + 85;  ///< and on output 2

/// The splitter from its grid on, section 1 at `x`; the wire of the grid is led out as far as x - kLeak.
/// Output 2 leaves above output 1, so that the divider comes down to grid 2 without crossing it. `balanced`:
/// a resistor from output 2 meets the divider at grid 2.
constexpr void picture_from_grid(Picture& p, int x, bool balanced) {
  using namespace picture_block;
  const int y = x + kApart, middle = x + kApart / 2, divider = y + kDivider, balancing = y + kBalancing;
  const int end = y, terminal = (balanced ? kBalancing : kDivider) + 85;
  p.place("plate_resistor_1", at(x, kRail), at(x, kFirstTap - 15)).current = true;
  p.line({at(x, kFirstTap - 15), at(x, kSecondTap), at(x, kTube - kTriodeReach)});
  p.place("plate_resistor_2", at(y, kRail), at(y, kFirstTap - 15), Side::left).current = true;
  p.line({at(y, kFirstTap - 15), at(y, kFirstTap), at(y, kTube - kTriodeReach)});
  p.tells("P1", at(x, kSecondTap), Side::left);
  p.tells("P2", at(y, kFirstTap), Side::left);
  p.triode("section_1", at(x, kTube), Side::left);
  p.triode("section_2", at(y, kTube), Side::right);
  output_1(p, x, kSecondTap, end, "output 1", terminal);
  output_2(p, y, kFirstTap, end, "output 2", terminal);

  p.line({at(x - kTriodeReach, kTube), at(x - kLeak, kTube)});
  p.place("grid_leak_1", at(x - kLeak, kTube), at(x - kLeak, kTube + 90), Side::left);
  p.earth(at(x - kLeak, kTube + 90));

  p.line({at(y + kTriodeReach, kTube), at(divider, kTube)});
  p.line({at(divider, kSecondTap), at(divider, kSecondTap + 8)});
  p.place("divider_resistor", at(divider, kSecondTap + 8), at(divider, kTube - 8));
  p.line({at(divider, kTube - 8), at(divider, kTube)});
  p.place("divider_foot", at(divider, kTube), at(divider, kTube + 80));
  p.earth(at(divider, kTube + 80));
  p.tells("G2", at(y + kTriodeReach, kTube), Side::lower_right);
  if (balanced) {
    p.line({at(balancing, kFirstTap), at(balancing, kSecondTap + 8)});
    p.place("balancing_resistor", at(balancing, kSecondTap + 8), at(balancing, kTube - 8));
    p.line({at(balancing, kTube - 8), at(balancing, kTube), at(divider, kTube)});
  }

  p.line({at(x, kTube + kTriodeReach), at(x, kCathode), at(middle, kCathode), at(y, kCathode),
          at(y, kTube + kTriodeReach)});
  p.tells("K", at(middle, kCathode), Side::above);
  cathode_resistor(p, middle, "cathode_resistor", "cathode_resistor_unbypassed", "cathode_bypass");
}

/// The whole drawing.
constexpr Picture drawn(bool balanced) {
  Picture p;
  constexpr int kX = 250;
  picture_block::supply(p, kX, kX + kApart);
  picture_block::coupled_source(p, kX - kLeak);
  picture_from_grid(p, kX, balanced);
  return p;
}

/// The same with a gain stage ahead.
constexpr Picture drawn_behind_first_stage(const Form& form, bool balanced) {
  Picture p;
  // Leaves room between the first cathode's parts and the words of the leak.
  const int x = 490 + first_stage::room_for(form.gain);
  first_stage::picture(p, form, x, x + kApart, {.x = x - kLeak, .told = false, .direct = false});
  picture_from_grid(p, x, balanced);
  return p;
}

constexpr Picture picture(const Form&) {
  return drawn(false);
}
static_assert(picture({}).placings > 0);

}  // namespace antiphase::paraphase
