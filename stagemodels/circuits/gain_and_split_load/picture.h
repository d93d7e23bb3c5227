/// The drawing of a gain stage and the split load that it drives.
#pragma once

#include "stagemodels/circuits/first_stage/picture.h"
#include "stagemodels/circuits/split_load/picture.h"

namespace antiphase::split_load_chain {

constexpr Picture picture(const Form& form) {
  Picture p;
  // Leaves room between the first cathode's parts and the words of the leak.
  const int x = 510 + first_stage::room_for(form.gain);
  const bool direct = form.bias == BiasForm::direct_coupled;
  first_stage::picture(p, form, x, x + split_load::kEnd,
                       {.x = x - split_load::kGrid, .told = !direct, .direct = direct});
  split_load::picture_from_grid(p, form, x);
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled, {}, true}).placings > 0);

}  // namespace antiphase::split_load_chain
