/// A chain taken apart at the first plate, for bounds over blocks of designs.
#pragma once

#include "stagemodels/circuits/catalogue.h"

namespace antiphase::first_stage {

/// As a gain stage. Its load is what the coupling capacitor leads to; at rest it plays no part. What
/// decouples its supply stands in a row with its plate resistor then.
inline Design first_alone(const Design& whole) {
  const FirstStage& f = whole.first_stage;
  Design d = whole;
  d.circuit = CircuitKind::common_cathode;
  d.tube = {f.tube, f.tube};
  d.spread = {f.spread, f.spread};
  d.plate_ohm = {f.plate_ohm + f.decoupling_ohm, 0};
  d.cathode_ohm = f.cathode_ohm;
  d.cathode_unbypassed_ohm = f.cathode_unbypassed_ohm;
  d.grid_leak_ohm = f.grid_leak_ohm;
  d.load_ohm = whole.grid_leak_ohm;
  d.feedback = {};
  return d;
}

/// As the splitter alone. Directly coupled, nothing stands between the first plate and its grid.
template <CircuitKind kSplitter>
Design output_alone(const Design& whole, double first_plate_v) {
  Design d = whole;
  d.circuit = kSplitter;
  d.feedback = {};
  if (d.bias.form == BiasForm::direct_coupled) {
    d.bias.grid_v = first_plate_v;
    d.source_ohm = 0;
  }
  return d;
}

template <CircuitKind kSplitter>
inline constexpr StagesApart kApart{&first_alone, &output_alone<kSplitter>};

}  // namespace antiphase::first_stage
