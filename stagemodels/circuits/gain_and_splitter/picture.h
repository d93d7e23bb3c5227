/// The drawing of a gain stage and the long-tailed pair that it drives.
#pragma once

#include "stagemodels/circuits/long_tailed_pair/picture.h"

namespace antiphase::chain {

/// The rail from the pair at `pair_x` back to the first stage at `x`, whose own supply may be decoupled.
constexpr void first_supply(Picture& p, int x, int pair_x) {
  using picture_block::kRail;
  constexpr std::string_view kResistor = "decoupling_resistor", kCapacitor = "decoupling_capacitor";
  constexpr int kAside = 60;
  p.line({at(pair_x, kRail), at(pair_x - 30, kRail)});
  p.place(kResistor, at(pair_x - 30, kRail), at(pair_x - 80, kRail));
  p.line({at(pair_x - 80, kRail), at(x, kRail)});
  p.tells("B0", at(x, kRail), Side::above, kResistor);
  p.line({at(x, kRail), at(x - kAside, kRail), at(x - kAside, kRail + 10)}, kCapacitor);
  p.place(kCapacitor, at(x - kAside, kRail + 10), at(x - kAside, kRail + 60), Side::left);
  p.earth(at(x - kAside, kRail + 60), kCapacitor);
}

constexpr Picture picture(const Form& form) {
  using namespace picture_block;
  Picture p;
  constexpr int kFirst = 210, kPair = 410;
  supply(p, kPair, kPair + pair::kApart);
  first_supply(p, kFirst, kPair);
  coupled_source(p, kFirst - kLeak);
  picture_block::gain_stage(
      p, kFirst, kSecondTap,
      {"first_section", "first_plate_resistor", "first_cathode_resistor", "first_cathode_resistor_unbypassed",
       "first_cathode_bypass", "first_grid_leak", "P0", "K0"},
      form.feedback);
  if (form.bias == BiasForm::direct_coupled) {
    p.line({at(kFirst, kSecondTap), at(kPair - 75, kSecondTap), at(kPair - 75, kTube)});
  } else {
    p.line({at(kFirst, kSecondTap), at(kFirst + 40, kSecondTap)});
    p.place("capacitor_between_stages", at(kFirst + 40, kSecondTap), at(kFirst + 90, kSecondTap));
    p.line(
        {at(kFirst + 90, kSecondTap), at(kPair - pair::kGrid, kSecondTap), at(kPair - pair::kGrid, kTube)});
    if (form.bias == BiasForm::self_biased)
      p.tells("G1", at(kPair - pair::kGrid, kSecondTap), Side::lower_right);
  }
  pair::picture_from_grid(p, form, kPair);
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled, {}, true}).placings > 0);

}  // namespace antiphase::chain
