#include "stagemodels/circuits/paraphase/sizing.h"

#include <algorithm>
#include <array>

#include "stagemodels/members.h"
#include "stagemodels/sizing_steps.h"

namespace antiphase::paraphase {
namespace {

constexpr std::array kSizingInputs{
    CircuitSizingInput{SizingInput::supply_v}, CircuitSizingInput{SizingInput::plate_current_a},
    CircuitSizingInput{SizingInput::plate_ohm}, CircuitSizingInput{SizingInput::plate_ohm_ratio, 1}};
constexpr std::array kFills{&member::dropping_ohm, &member::supply_v,    &member::plate_ohm_0,
                            &member::plate_ohm_1,  &member::cathode_ohm, &member::divider_foot_ohm};

}  // namespace

double size_sections(const SizingInputs& w, Design& d, SecondSection& second) {
  const double total_a = 2 * w.plate_current_a;
  if (const double short_v = sizing::fill_supply(w, total_a, d); short_v > 0) return short_v;
  d.plate_ohm = {w.plate_ohm, w.plate_ohm * w.plate_ohm_ratio};
  const TriodeLaw& law = d.tube[0]->law(d.law);
  const double plate_v = w.supply_v - 0.5 * w.plate_current_a * (d.plate_ohm[0] + d.plate_ohm[1]);
  double of_one_ohm = 0;  // of a section by itself; both together pass twice the current through the resistor
  const double short_v = sizing::fill_cathode_resistor(
      law, plate_v, w.plate_current_a, 2 * (sizing::kLeastOhm + d.cathode_unbypassed_ohm), of_one_ohm);
  if (short_v > 0) return short_v;
  d.cathode_ohm = of_one_ohm / 2;
  const TriodeCurrents now =
      sizing::slopes_at(law, w.plate_current_a, plate_v - w.plate_current_a * of_one_ohm);
  second = {now.plate_per_grid_s, now.plate_per_plate_s + 1 / d.plate_ohm[1] + 1 / d.load_ohm};
  return 0;
}

double size(const SizingInputs& w, Design& d) {
  SecondSection second;
  if (const double short_v = size_sections(w, d, second); short_v > 0) return short_v;
  // Section 2 gets the share of output 1 that it makes as large as output 1 again.
  constexpr double kLeastGain = 1.01;  // less does not make up for any divider
  const double gain = std::max(second.gm_s / second.plate_s, kLeastGain);
  d.divider_foot_ohm = std::max(sizing::kLeastOhm, d.divider_ohm / (gain - 1));
  return 0;
}

constinit const Sizing kSizing{kSizingInputs, kFills, &size};

}  // namespace antiphase::paraphase
