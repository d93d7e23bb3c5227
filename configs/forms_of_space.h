/// The circuits and forms that a brief leaves open, one after another.
#pragma once

#include <string>

#include "objectives/design_space.h"

namespace antiphase {

/// True if `is(design)` holds for `design` in some circuit of `space` and some combination of its forms.
template <class Is>
bool in_some_form(const DesignSpace& space, Design design, Is is) {
  for (const CircuitKind kind : space.circuits)
    for (const BiasForm bias : bias_forms_of(space, kind))
      for (const TailForm tail : tail_forms_of(space, kind))
        for (const DriverForm driver : driver_forms_of(space, kind))
          for (const GainForm gain : gain_forms_of(space, kind)) {
            design.circuit = kind;
            design.bias.form = bias;
            design.tail.form = tail;
            design.driver.form = driver;
            design.first_stage.form = gain;
            if (is(static_cast<const Design&>(design))) return true;
          }
  return false;
}

/// True if some design of the space has the field.
bool applies_somewhere(const DesignField& field, const DesignSpace& space);

/// Why no design of the space has the field, told of the first circuit that could have it in other forms.
std::string why_nowhere(const DesignField& field, const DesignSpace& space);

}  // namespace antiphase
