/// Where the sections of a circuit stand: what their grids and cathodes hang on. Found once in each list, for
/// those who ask for every design.
#pragma once

#include <array>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

struct SectionPlace {
  const Element* triode = nullptr;     ///< null: the circuit has no such section
  const Element* grid_leak = nullptr;  ///< hangs on this grid; null: something else holds it
  const Element* clamp = nullptr;      ///< holds this grid at its cathode while the tubes are cold
  const Element* foot = nullptr;       ///< the held node where the cathode's current ends; null: ground
  /// Without a capacitor on the way the grid hangs on a plate, or on a source that stands where the plate of
  /// a stage before puts it.
  bool grid_on_plate = false;
};

struct Places {
  std::array<SectionPlace, Circuit::kMostSections> section{};
  const Element* sink = nullptr;  ///< of a constant current
};

/// Looked for in the list. The elements are those of `circuit`, which must outlive what is found.
Places find_places(const Circuit& circuit);

/// Of the design's circuit in its forms. Static; cost: a table look-up.
const Places& places_of(const Design&);

/// Element::section of a stage ahead of the output stage. The output stage has at most two sections, 0 and 1,
/// and a circuit that ends with one of them has no section 1: the first stage keeps its place all the same.
inline constexpr int kFirstStage = Circuit::kMostSections - 1;

/// True if the design's circuit has the section: 0 and 1 of the output stage, kFirstStage.
inline bool has_section(const Design& d, int section) {
  return places_of(d).section[static_cast<std::size_t>(section)].triode != nullptr;
}

}  // namespace antiphase
