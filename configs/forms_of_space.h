/// The forms that a brief leaves open, one after another.
#pragma once

#include "objectives/design_space.h"

namespace antiphase {

/// True if `is(design)` holds for `design` in some combination of the forms of `space`.
template <class Is>
bool in_some_form(const DesignSpace& space, Design design, Is is) {
  for (const auto bias : space.bias_forms)
    for (const auto tail : space.tail_forms) {
      design.bias.form = bias;
      design.tail.form = tail;
      if (is(static_cast<const Design&>(design))) return true;
    }
  return false;
}

}  // namespace antiphase
