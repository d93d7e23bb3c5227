/// A section as limits see it: its tube, what it hangs on, what it does at rest and at the target. The first
/// stage's section and those of the output stage are looked at in the same way.
#pragma once

#include "stagemodels/circuits/places.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

struct SectionAtRest {
  double cathode_v = 0, plate_current_a = 0, cathode_current_a = 0;
  double grid_to_cathode_v = 0, plate_to_cathode_v = 0, plate_dissipation_w = 0;
  double screen_to_cathode_v = 0, screen_dissipation_w = 0;  ///< 0 without a screen
};

/// Over the cycle at the target.
struct SectionAtTarget {
  double plate_dissipation_w = 0, cathode_current_mean_a = 0;
  double grid_to_cathode_peak_v = 0, plate_to_cathode_peak_v = 0, plate_current_low_a = 0;
  double cathode_low_v = 0, cathode_high_v = 0;
  double screen_dissipation_w = 0;
};

inline SectionAtRest section_at_rest(const OperatingPoint& o, int section) {
  if (section >= kSplitterSections) {
    const SectionRest& f = own_rest(o, section);
    return {f.cathode_v,          f.plate_current_a,     f.cathode_current_a(), f.grid_to_cathode_v,
            f.plate_to_cathode_v, f.plate_dissipation_w, f.screen_to_cathode_v, f.screen_dissipation_w};
  }
  return {o.cathode_v,
          o.plate_current_a[section],
          o.plate_current_a[section] + o.grid_current_a[section],
          o.grid_to_cathode_v[section],
          o.plate_to_cathode_v[section],
          o.plate_dissipation_w[section]};
}

inline SectionAtTarget section_at_target(const SteadyState& s, int section) {
  if (section >= kSplitterSections) {
    const SectionState& f = own_state(s, section);
    return {f.plate_dissipation_w,     f.cathode_current_mean_a, f.grid_to_cathode_peak_v,
            f.plate_to_cathode_peak_v, f.plate_current_low_a,    f.cathode_low_v,
            f.cathode_high_v,          f.screen_dissipation_w};
  }
  return {s.plate_dissipation_w[section],
          s.cathode_current_mean_a[section],
          s.grid_to_cathode_peak_v[section],
          s.plate_to_cathode_peak_v[section],
          s.plate_current_low_a[section],
          s.cathode_low_v,
          s.cathode_high_v};
}

inline const Tube& tube_of(const Design& d, int section) {
  return *tube_numbered(d, section);
}

/// Allowed: a section that the design has (has_section()).
struct SectionView {
  const TubeRatings& ratings;
  double grid_conduction_v;
  const SectionPlace& place;
  SectionAtRest rest;
  SectionAtTarget target;
  const Pentode* pentode;  ///< null: a triode

  SectionView(const Design& d, const Evaluation& e, int section)
      : ratings(tube_of(d, section).ratings),
        grid_conduction_v(tube_of(d, section).grid_conduction_v.value),
        place(places_of(d).section[section]),
        rest(section_at_rest(e.operating_point, section)),
        target(section_at_target(e.at_target, section)),
        pentode(place.triode->screen == kNoNode ? nullptr : &tube_of(d, section).pentode) {}
};

}  // namespace antiphase
