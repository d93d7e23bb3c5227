/// Whether what stands around a stage is taken as ideal or as it is.
#pragma once

#include "stagemodels/design.h"

namespace antiphase {

/// ideal: a source without resistance, a stiff supply, loads that are resistors: the quick equations.
/// real: source resistance, dropping resistor, decoupling of a stage ahead, grids of output valves that draw
/// current.
enum class Surroundings { ideal, real };

/// What the figures at the target need.
inline Surroundings surroundings_of(const Design& d) {
  const bool decoupled = d.first_stage.decoupling_ohm > 0 && has_first_stage(d);
  return d.source_ohm > 0 || d.main_supply_v > 0 || decoupled ? Surroundings::real : Surroundings::ideal;
}

}  // namespace antiphase
