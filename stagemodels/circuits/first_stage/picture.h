/// The drawing of a gain stage ahead of a splitter.
#pragma once

#include "stagemodels/circuits/picture_blocks.h"

namespace antiphase::first_stage {

inline constexpr int kPlace = 210;  ///< of the first section, where nothing stands to its left above

/// True if its second section stands above the first.
constexpr bool stacked(GainForm form) {
  return form == GainForm::cascode || form == GainForm::mu_follower || form == GainForm::srpp;
}
/// From the first section to a second one beside it.
inline constexpr int kBeside = 290;

constexpr int place_of(GainForm form) {
  return stacked(form) ? kPlace + 130 : kPlace;
}
/// How much farther to the right a splitter stands than behind a single triode.
constexpr int room_for(GainForm form) {
  return stacked(form) ? 185 : form == GainForm::two_triodes ? kBeside : form == GainForm::pentode ? 150 : 0;
}

/// The rail from the splitter's first section at `splitter_x` back to the first stage, whose own supply may
/// be decoupled, and on to the left as far as `left`. `aside`: where the decoupling capacitor stands.
constexpr void own_supply(Picture& p, int splitter_x, int x, int left, int aside) {
  using picture_block::kRail;
  constexpr std::string_view kResistor = "decoupling_resistor", kCapacitor = "decoupling_capacitor";
  p.line({at(splitter_x, kRail), at(splitter_x - 30, kRail)});
  p.place(kResistor, at(splitter_x - 30, kRail), at(splitter_x - 80, kRail));
  p.line({at(splitter_x - 80, kRail), at(x, kRail)});
  p.tells("B0", at(x, kRail), Side::above, kResistor);
  if (left < x) p.line({at(x, kRail), at(left, kRail)});
  p.line({at(left, kRail), at(aside, kRail), at(aside, kRail + 10)}, kCapacitor);
  p.place(kCapacitor, at(aside, kRail + 10), at(aside, kRail + 60), Side::left);
  p.earth(at(aside, kRail + 60), kCapacitor);
}

inline constexpr picture_block::GainStage kFirstTriode{"first_section",
                                                       "first_plate_resistor",
                                                       "first_cathode_resistor",
                                                       "first_cathode_resistor_unbypassed",
                                                       "first_cathode_bypass",
                                                       "first_grid_leak",
                                                       "P0",
                                                       "K0"};
inline constexpr picture_block::GainStage kSecondTriode{"second_section_of_gain",
                                                        "second_plate_resistor",
                                                        "second_cathode_resistor",
                                                        "second_cathode_resistor_unbypassed",
                                                        "second_cathode_bypass",
                                                        "second_grid_leak",
                                                        "P0B",
                                                        "K0B"};
/// From the line through both sections of a stack to what hangs on the upper grid: near it, and beyond.
inline constexpr int kNear = 75, kFar = 140;

constexpr Spot constant_current(Picture& p, int x) {
  using namespace picture_block;
  p.place("first_plate_source", at(x, kRail), at(x, kFirstTap - 15)).said = {"first_plate_source_resistance",
                                                                             "", " across it"};
  p.line({at(x, kFirstTap - 15), at(x, kSecondTap), at(x, kTube - kTriodeReach)});
  p.tells("P0", at(x, kSecondTap), Side::left);
  return at(x, kSecondTap);
}

constexpr Spot cascode(Picture& p, int x) {
  using namespace picture_block;
  constexpr int kUpper = 130, kTap = 80, kFoot = kUpper + 70;
  p.place("first_plate_resistor", at(x, kRail), at(x, kTap - 5)).current = true;
  p.line({at(x, kTap - 5), at(x, kTap), at(x, kUpper - kTriodeReach)});
  p.tells("P0U", at(x, kTap), Side::left);
  p.triode("first_upper_section", at(x, kUpper), Side::left);
  p.line({at(x, kUpper + kTriodeReach), at(x, kTube - kTriodeReach)});
  p.tells("P0", at(x, kSecondTap), Side::right);
  p.line({at(x - kTriodeReach, kUpper), at(x - kNear, kUpper), at(x - kFar, kUpper)});
  p.tells("G0U", at(x - kFar, kUpper), Side::left);
  p.place("upper_grid_feed", at(x - kNear, kRail), at(x - kNear, kUpper - 20), Side::left);
  p.line({at(x - kNear, kUpper - 20), at(x - kNear, kUpper)});
  p.place("upper_grid_foot", at(x - kNear, kUpper), at(x - kNear, kFoot));
  p.earth(at(x - kNear, kFoot));
  p.place("upper_grid_bypass", at(x - kFar, kUpper), at(x - kFar, kFoot), Side::left);
  p.earth(at(x - kFar, kFoot));
  return at(x, kTap);
}

/// The upper section of a stack that gives out at its cathode. @return there.
constexpr Spot upper_follower(Picture& p, int x) {
  using namespace picture_block;
  constexpr int kUpper = 90, kTap = kUpper + kTriodeReach;
  p.line({at(x, kRail), at(x, kUpper - kTriodeReach)});
  p.triode("first_upper_section", at(x, kUpper), Side::left);
  p.tells("K0U", at(x, kTap), Side::left);
  return at(x, kTap);
}

constexpr Spot mu_follower(Picture& p, int x) {
  using namespace picture_block;
  constexpr int kUpper = 90, kFoot = 172, kPlate = kTube - kTriodeReach;
  const Spot out = upper_follower(p, x);
  p.place("upper_cathode_resistor", out, at(x, kFoot));
  p.place("first_plate_resistor", at(x, kFoot), at(x, kPlate)).current = true;
  p.line({at(x, kFoot), at(x - kNear, kFoot)});
  p.place("upper_grid_leak", at(x - kNear, kUpper), at(x - kNear, kFoot), Side::left);
  p.line(
      {at(x - kTriodeReach, kUpper), at(x - kNear, kUpper), at(x - kFar, kUpper), at(x - kFar, kUpper + 30)});
  p.line({at(x, kPlate), at(x - kFar, kPlate), at(x - kFar, kUpper + 90)});
  p.place("upper_grid_capacitor", at(x - kFar, kUpper + 90), at(x - kFar, kUpper + 30), Side::left);
  p.tells("P0", at(x - kFar, kPlate), Side::left);
  return out;
}

constexpr Spot srpp(Picture& p, int x) {
  using namespace picture_block;
  constexpr int kUpper = 90, kFoot = 185;
  const Spot out = upper_follower(p, x);
  p.place("upper_cathode_resistor", out, at(x, kFoot)).current = true;
  p.line({at(x, kFoot), at(x, kSecondTap), at(x, kTube - kTriodeReach)});
  p.line({at(x - kTriodeReach, kUpper), at(x - kNear, kUpper), at(x - kNear, kSecondTap), at(x, kSecondTap)});
  p.tells("P0", at(x, kSecondTap), Side::right);
  return out;
}

constexpr Spot two_triodes(Picture& p, int x) {
  using namespace picture_block;
  const int second = x + kBeside;
  plate_resistor(p, x, kSecondTap, kFirstTriode);
  p.line({at(x, kSecondTap), at(x + 40, kSecondTap)});
  p.place("second_grid_capacitor", at(x + 40, kSecondTap), at(x + 90, kSecondTap));
  p.line({at(x + 90, kSecondTap), at(second - kLeak, kSecondTap), at(second - kLeak, kTube)});
  gain_stage(p, second, kSecondTap, kSecondTriode, false);
  return at(second, kSecondTap);
}

/// The screen to the right of the tube, fed from the rail; what the plate feeds is tapped above.
constexpr Spot pentode(Picture& p, int x) {
  using namespace picture_block;
  constexpr int kAside = 100, kScreen = kTube - kScreenUp, kBypass = 60;
  plate_resistor(p, x, kSecondTap, kFirstTriode);
  p.place("screen_resistor", at(x + kAside, kRail), at(x + kAside, kFirstTap - 15)).current = true;
  p.line({at(x + kAside, kFirstTap - 15), at(x + kAside, kScreen), at(x + kTriodeReach, kScreen)});
  p.tells("S0", at(x + kAside, kScreen), Side::right);
  p.place("screen_bypass", at(x + kAside, kScreen), at(x + kAside, kScreen + kBypass));
  p.earth(at(x + kAside, kScreen + kBypass));
  return at(x, kSecondTap);
}

/// @return where the stage gives out.
constexpr Spot above_the_plate(Picture& p, GainForm form, int x) {
  using namespace picture_block;
  switch (form) {
    case GainForm::constant_current:
      return constant_current(p, x);
    case GainForm::cascode:
      return cascode(p, x);
    case GainForm::mu_follower:
      return mu_follower(p, x);
    case GainForm::srpp:
      return srpp(p, x);
    case GainForm::two_triodes:
      return two_triodes(p, x);
    case GainForm::pentode:
      return pentode(p, x);
    case GainForm::triode:
      break;
  }
  plate_resistor(p, x, kSecondTap, kFirstTriode);
  return at(x, kSecondTap);
}

/// Where a splitter's grid is led to.
struct GridEnd {
  int x = 0;            ///< the wire comes down here to the height of the tubes
  bool told = false;    ///< its voltage is told there
  bool direct = false;  ///< the stage holds it: no capacitor on the way
};

/// The stage from the source to the splitter's grid. `splitter_x`: of the splitter's first section; `end`: of
/// its last plate resistor.
constexpr void picture(Picture& p, const Form& form, int splitter_x, int end, GridEnd grid) {
  using namespace picture_block;
  const int x = place_of(form.gain);
  supply(p, splitter_x, end);
  const bool divider = form.gain == GainForm::cascode;
  // To the left of what hangs on an upper grid.
  const int aside = form.gain == GainForm::mu_follower ? x - kFar - 60
                    : divider                          ? x - kNear - 100
                    : form.gain == GainForm::srpp      ? x - kNear - 60
                                                       : x - 60;
  own_supply(p, splitter_x, x, divider ? x - kNear : x, aside);
  coupled_source(p, x - kLeak);
  const Spot out = above_the_plate(p, form.gain, x);
  below_plate(p, x, kFirstTriode, form.feedback);
  int from = out.x;
  if (!grid.direct) {
    constexpr int kLead = 40, kPassesWords = 95;  // beside the parts of a stack stand their words
    const int lead = stacked(form.gain) ? kPassesWords : kLead;
    p.line({out, at(out.x + lead, out.y)});
    from = out.x + lead + 50;
    p.place("capacitor_between_stages", at(out.x + lead, out.y), at(from, out.y));
  }
  p.line({at(from, out.y), at(grid.x, out.y), at(grid.x, kTube)});
  if (grid.told) p.tells("G1", at(grid.x, kSecondTap), Side::lower_right);
}

}  // namespace antiphase::first_stage
