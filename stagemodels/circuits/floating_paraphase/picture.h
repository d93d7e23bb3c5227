/// The drawing of the floating paraphase.
#pragma once

#include "stagemodels/circuits/paraphase/picture.h"

namespace antiphase::floating_paraphase {

constexpr Picture picture(const Form&) {
  return paraphase::drawn(true);
}
static_assert(picture({}).placings > 0);

}  // namespace antiphase::floating_paraphase
