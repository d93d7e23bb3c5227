/// The drawing of a gain stage and the paraphase that it drives.
#pragma once

#include "stagemodels/circuits/first_stage/picture.h"
#include "stagemodels/circuits/paraphase/picture.h"

namespace antiphase::paraphase_chain {

constexpr Picture picture(const Form& form) {
  return paraphase::drawn_behind_first_stage(form, false);
}
static_assert(picture({}).placings > 0 && picture({{}, {}, true}).placings > 0);

}  // namespace antiphase::paraphase_chain
