/// Steps on a lattice: how many levels each axis goes up or down.
#pragma once

#include <vector>

#include "optimize/engine/lattice/levels.h"

namespace antiphase::engine {

/// A step as level offsets, one per axis. In a narrow valley no single axis can move alone, so
/// both sets hold joint steps. Axes with one level take no part; no step stands in both sets.
struct Steps {
  std::vector<Levels> near;  ///< one axis by 1 or 2; every pair of axes by 1 each, in all signs
  std::vector<Levels> wide;  ///< all of {-1, 0, 1}^n for up to 5 moving axes (triples above that), and every
                             ///< pair of axes by up to 2 each
};

/// The steps of a lattice. Near steps come in order of size. Five axes have 60 near and 312 wide steps.
Steps steps_of(const Problem& lattice);

}  // namespace antiphase::engine
