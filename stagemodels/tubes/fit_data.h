/// Turns curve readings and published points of a tube into observations for the fit.
#pragma once

#include <span>
#include <vector>

#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

/// A point read off a plate curve of one section.
struct CurvePoint {
  double grid_v = 0;           ///< grid to cathode, V
  double plate_v = 0;          ///< plate to cathode, V
  double plate_current_a = 0;  ///< A
};

/// The current that the type is typically run at, A: the largest of its published points, or, if it
/// has none, half the largest of the readings. 0 if there are neither.
double typical_current_a(std::span<const PublishedPoint>, std::span<const CurvePoint>);

/// Everything known of a type: the readings and the published points.
std::vector<FitObservation> observations_of(std::span<const PublishedPoint>, std::span<const CurvePoint>);

/// Plate currents. Points with no current are left out: a law with a foot cannot meet them.
std::vector<FitObservation> observations_of(std::span<const CurvePoint>, double typical_a);

/// Plate current (where the bias is published), gm, mu and rp of each point. `curve_points` is how
/// many readings stand beside them: the two groups are given comparable say.
std::vector<FitObservation> observations_of(std::span<const PublishedPoint>, int curve_points);

/// Grid-to-cathode voltage of a published point: as printed, or what the cathode resistor drops.
std::optional<double> grid_voltage_of(const PublishedPoint&);

}  // namespace antiphase
