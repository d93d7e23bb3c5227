/// Where the sections of a circuit stand: what their grids and cathodes hang on. Found once in each list, for
/// those who ask for every design.
#pragma once

#include <array>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluation.h"

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
  const Element* sink = nullptr;          ///< of a constant current, in a tail
  const Element* plate_source = nullptr;  ///< the same above a first stage's plate
};

/// Looked for in the list. The elements are those of `circuit`, which must outlive what is found.
Places find_places(const Circuit& circuit);

/// Of the design's circuit in its forms. Static; cost: a table look-up.
const Places& places_of(const Design&);

/// The section of that number. Allowed: one that the design has.
inline TriodeSection section_numbered(const Design& d, int number) {
  return number < kSplitterSections ? d.section(number)
         : number == kFirstStage    ? d.first_section()
         : number == kGainSecond    ? d.second_section()
                                    : d.driver_section(number - kDriver);
}
/// How it differs from its type.
inline SectionSpread& spread_of(Design& d, int number) {
  const auto n = static_cast<std::size_t>(number);
  return number < kSplitterSections ? d.spread[n]
         : number == kFirstStage    ? d.first_stage.spread
         : number == kGainSecond    ? d.first_stage.second_spread
                                    : d.driver.spread[n - kDriver];
}
/// The type of its tube.
inline const Tube* tube_numbered(const Design& d, int number) {
  return number < kSplitterSections ? d.tube[static_cast<std::size_t>(number)]
         : number == kFirstStage    ? d.first_stage.tube
         : number == kGainSecond    ? d.first_stage.second_tube
                                    : d.driver.tube;
}
/// What it does at rest, of a section that is not the splitter's.
inline const SectionRest& own_rest(const OperatingPoint& o, int number) {
  return number == kFirstStage   ? o.first
         : number == kGainSecond ? o.second
                                 : o.driver[static_cast<std::size_t>(number - kDriver)];
}
inline SectionRest& own_rest(OperatingPoint& o, int number) {
  return number == kFirstStage   ? o.first
         : number == kGainSecond ? o.second
                                 : o.driver[static_cast<std::size_t>(number - kDriver)];
}
inline const SectionState& own_state(const SteadyState& s, int number) {
  return number == kFirstStage   ? s.first
         : number == kGainSecond ? s.second
                                 : s.driver[static_cast<std::size_t>(number - kDriver)];
}

inline const SectionWaveforms& own_waveforms(const Waveforms& w, int number) {
  return number == kFirstStage   ? w.first
         : number == kGainSecond ? w.second
                                 : w.driver[static_cast<std::size_t>(number - kDriver)];
}

/// True if the design's circuit has the section of that number.
inline bool has_section(const Design& d, int section) {
  return places_of(d).section[static_cast<std::size_t>(section)].triode != nullptr;
}

}  // namespace antiphase
