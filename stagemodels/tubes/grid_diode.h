/// Grid current of a tube whose plate law has none: a diode with a resistance in series.
#pragma once

#include "stagemodels/tubes/currents.h"

namespace antiphase {

/// ig = (slope_v / series_ohm) ln(1 + exp((vg - knee_v) / slope_v)).
/// Far below the knee it grows e-fold every slope_v, as the retarding field of a cathode near 1000 K has it
/// (Maxwell's distribution, kT/e = 86.17 uV a kelvin); far above it is a straight line of series_ohm. The
/// knee follows from the published onset, the voltage at which the grid takes kOnset_a. Below some 1e-14 A it
/// is exactly nothing. Legend: vg grid to cathode V; ig A.
struct GridDiode {
  double siemens = 0;  ///< 1 / series_ohm; 0: this grid draws no current at any voltage
  double slope_v = 0.09;
  double knee_v = 0;

  static constexpr double kOnset_a = 0.3e-6;  ///< at which data sheets state the onset
  static constexpr double kUsualSeries_ohm = 2000;
  static constexpr double kUsualSlope_v = 0.09;
  static constexpr double kLeastExponent = -23;  ///< below, the current counts as none

  bool conducts() const { return siemens > 0; }
  /// True if the grid draws nothing at this voltage or below it.
  bool silent_at(double grid_v) const {
    return !(siemens > 0) || grid_v <= knee_v + kLeastExponent * slope_v;
  }
  double current_a(double grid_v) const;

  /// Adds the current and its derivative, A and A/V. All #instants; grid_v to the cathode, V.
  void add(const double* grid_v, int instants, double* grid_a, double* grid_per_grid_s) const;
};

/// The diode that takes GridDiode::kOnset_a at onset_v. Allowed: series_ohm, slope_v > 0.
GridDiode grid_diode(double onset_v, double series_ohm = GridDiode::kUsualSeries_ohm,
                     double slope_v = GridDiode::kUsualSlope_v);

}  // namespace antiphase
