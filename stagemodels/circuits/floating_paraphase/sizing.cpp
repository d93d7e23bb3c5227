#include "stagemodels/circuits/floating_paraphase/sizing.h"

#include <algorithm>
#include <array>

#include "stagemodels/circuits/paraphase/sizing.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::floating_paraphase {
namespace {

constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v}, CircuitSizingInput{SizingInput::plate_current_a},
    CircuitSizingInput{SizingInput::plate_ohm}, CircuitSizingInput{SizingInput::plate_ohm_ratio, 1}};
constexpr std::array kFills{&member::dropping_ohm,    &member::supply_v,    &member::plate_ohm_0,
                            &member::plate_ohm_1,     &member::cathode_ohm, &member::balancing_ohm,
                            &member::divider_foot_ohm};

}  // namespace

double size(const SizingInputs& w, Design& d) {
  paraphase::SecondSection second;
  if (const double short_v = paraphase::size_sections(w, d, second); short_v > 0) return short_v;
  // Three resistors of about one size meet at grid 2 (Radiotron Designer's Handbook, 4th ed., section 12.6,
  // from memory), D and F = D from output 1 and to ground, B from output 2. With an opposite volt at each
  // output and 1 / a of a volt at grid 2 Kirchhoff's law there and at plate 2 says
  //   (1 - 1 / a) / D = 1 / (a F) + (1 + 1 / a) / B,   gm / a = plate_s + (1 + 1 / a) / B.
  d.divider_foot_ohm = d.divider_ohm;
  constexpr double kLeastGain = 2.1;  // with 2 or less nothing balances
  const double gm_s = std::max(second.gm_s, kLeastGain * second.plate_s), D_s = 1 / d.divider_ohm;
  const double a = (gm_s + 2 * D_s) / (second.plate_s + D_s);
  d.balancing_ohm = (1 + a) / (gm_s - a * second.plate_s);
  return 0;
}

constinit const Sizing kSizing{kSizingInputs, kFills, &size};

}  // namespace antiphase::floating_paraphase
