/// The drawing of a gain stage and the long-tailed pair that it drives.
#pragma once

#include "stagemodels/circuits/first_stage/picture.h"
#include "stagemodels/circuits/long_tailed_pair/picture.h"

namespace antiphase::chain {

constexpr Picture picture(const Form& form) {
  Picture p;
  constexpr int kHeldGrid = 75;  // a plate's wire to the grids passes outside of their leaks
  const int x = 410 + first_stage::room_for(form.gain);
  const bool direct = form.bias == BiasForm::direct_coupled;
  first_stage::picture(p, form, x, x + pair::kApart,
                       {.x = x - (direct ? kHeldGrid : pair::kGrid),
                        .told = form.bias == BiasForm::self_biased,
                        .direct = direct});
  pair::picture_from_grid(p, form, x);
  return p;
}
static_assert(picture({}).placings > 0 && picture({BiasForm::direct_coupled, {}, true}).placings > 0);

}  // namespace antiphase::chain
